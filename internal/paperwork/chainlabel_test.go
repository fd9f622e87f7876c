package paperwork

import (
	"bytes"
	"strings"
	"testing"
)

func sampleLabels() []ChainLabel {
	l := ChainLabel{System: "2 upstairs", Property: "12 Sample Lane", Day: "2026-07-14", By: "J. Sample, 555 0100", Here: "Breaker: 14-16", Chain: []Reading{
		{Name: "Thermostat", Value: "upstairs hall"}, {Name: "Outdoor unit", Value: "north side, right"}, {Name: "Disconnect", Value: "2"}, {Name: "Breaker", Value: "14-16", Doubt: "not proved"}}}
	long := l
	long.System, long.Here = "10 second floor east wing", "Indoor unit: mechanical room behind the linen closet"
	long.Chain = nil
	for _, x := range l.Chain {
		x.Value = strings.Repeat(x.Value+", ", 3)
		long.Chain = append(long.Chain, x)
	}
	return []ChainLabel{l, long, l}
}

// TestOnePageForEachLabel: long words are written smaller.
func TestOnePageForEachLabel(t *testing.T) {
	var b bytes.Buffer
	if err := ChainLabelsPDF(&b, sampleLabels(), made); err != nil {
		t.Fatal(err)
	}
	if pages := bytes.Count(b.Bytes(), []byte("/Type /Page\n")); pages != 3 {
		t.Errorf("3 labels have %d pages", pages)
	}
}
