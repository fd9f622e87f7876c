package demo

import (
	"math/rand/v2"
	"slices"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/visit"
)

func TestLoadOnce(t *testing.T) {
	now := time.Date(2026, 7, 14, 15, 0, 0, 0, time.UTC)
	clock := func() time.Time { now = now.Add(time.Second); return now }
	log := memlog.New(ledger.Summary())
	s, err := visit.New(visit.Config{Log: log, Now: clock, IDs: journal.NewIDSource(clock, rand.NewChaCha8([32]byte{3})), Device: "test"})
	if err != nil {
		t.Fatal(err)
	}
	for range 2 {
		if err := Load(t.Context(), s); err != nil {
			t.Fatal(err)
		}
	}
	properties, err := s.Properties(t.Context(), "")
	if err != nil || len(properties) != len(shop) {
		t.Errorf("%d properties, %v, want %d", len(properties), err, len(shop))
	}
	// The house of four shows a chain that is partly proved, and a swapped pair.
	sheet, err := s.Chain(t.Context(), properties[slices.IndexFunc(properties, func(p ledger.PropertyLine) bool { return p.Systems == 4 })].Property)
	if err != nil || len(sheet.Swapped) != 1 || sheet.Next == nil || sheet.Systems[0].Links[3].State != visit.LinkProved {
		t.Errorf("chain of the house of four: %+v, %v", sheet, err)
	}
	open, err := s.OpenVisits(t.Context())
	if err != nil || len(open) != 2 {
		t.Errorf("%d open visits, %v, want the two that show what to do next, one in cooling and one in heating", len(open), err)
	}
}
