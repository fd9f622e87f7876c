//go:build !js

package paperwork

import (
	"bytes"
	"errors"
	"fmt"
	"strings"
	"testing"
	"time"
)

var made = time.Date(2026, 7, 14, 16, 0, 0, 0, time.UTC)

func sampleReport() Report {
	return Report{
		Shop: "Sample Shop", Phone: "555 0100", Property: "12 Sample Lane", System: "2 upstairs", Day: "14 July 2026", By: "J. Sample",
		Said: "upstairs stays warm", Found: []string{"The run capacitor read 0.4 µF where it should read 38 to 42 µF."},
		Done:  []Work{{What: "Replaced the run capacitor", Out: "40+5 µF", In: "40+5 µF 440 V", Measured: "0.4 µF", Why: "heat"}},
		Proof: []ProofLine{{"Compressor current", "62 A", "11.2 A", "10.1 to 12.4 A", "holds"}}, Unjudged: []string{"running less than 15 minutes"},
		Todo: "judge charge when settled", Readings: []Reading{{"Winding", "2 Ω", ""}},
	}
}

func TestPDF(t *testing.T) {
	papers := map[string]func(*bytes.Buffer) error{
		"note":   func(b *bytes.Buffer) error { return sampleNote().PDF(b, made) },
		"report": func(b *bytes.Buffer) error { return sampleReport().PDF(b, made) },
		"labels": func(b *bytes.Buffer) error { return ChainLabelsPDF(b, sampleLabels(), made) },
	}
	for name, write := range papers {
		var one, two bytes.Buffer
		if err := errors.Join(write(&one), write(&two)); err != nil {
			t.Fatal(err)
		}
		if !bytes.HasPrefix(one.Bytes(), []byte("%PDF-1.")) || !bytes.Contains(one.Bytes(), []byte("%%EOF")) {
			t.Errorf("%s: not a PDF", name)
		}
		if !bytes.Equal(one.Bytes(), two.Bytes()) {
			t.Errorf("%s: the same data makes other bytes", name)
		}
	}
}

// TestReportSaysEverything: every fact of a report is on its paper.
func TestReportSaysEverything(t *testing.T) {
	var all strings.Builder
	for _, p := range sampleReport().parts() {
		all.WriteString(p.name + "\n" + strings.Join(p.lines, "\n") + "\n")
	}
	for _, want := range []string{"upstairs stays warm", "0.4 µF where", "out: 40+5 µF", "why it failed: heat", "before 62 A, now 11.2 A, healthy 10.1 to 12.4 A, holds",
		"not judged, because\nrunning less than 15 minutes\nTo be done: judge charge when settled", "Winding: 2 Ω"} {
		if !strings.Contains(all.String(), want) {
			t.Errorf("the report does not say %q", want)
		}
	}
}

func TestLatin(t *testing.T) {
	got := latin(func(s string) string { return s })("2 Ω, ≥ 65 °F → ✓")
	if want := "2  ohm, at least  65 °F  -  +"; got != want {
		t.Errorf("latin = %q, want %q", got, want)
	}
}

// TestLabelIsOnePage: however many readings, the code stands on the label.
func TestLabelIsOnePage(t *testing.T) {
	n := sampleNote()
	for i := range 40 {
		n.Readings = append(n.Readings, Reading{Name: fmt.Sprint("reading ", i), Value: "1 V"})
	}
	if s := n.label(time.Time{}, 0); !s.full() {
		t.Fatal("42 readings leave room: nothing is shown by that")
	}
	var b bytes.Buffer
	if err := n.PDF(&b, time.Time{}); err != nil {
		t.Fatal(err)
	}
	if pages := bytes.Count(b.Bytes(), []byte("/Type /Page\n")); pages != 1 {
		t.Errorf("the label has %d pages", pages)
	}
}

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
