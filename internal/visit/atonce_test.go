package visit

import (
	"context"
	"reflect"
	"sync"
	"testing"

	"rung/internal/plant"
	"rung/internal/record"
)

// atOnce runs what is asked for side by side and reports the errors.
func atOnce(t *testing.T, work ...func() error) {
	t.Helper()
	var all sync.WaitGroup
	for _, do := range work {
		all.Go(func() {
			if err := do(); err != nil {
				t.Error(err)
			}
		})
	}
	all.Wait()
}

// TestManyAtOnce asks one service for what it computes, about two visits to two
// systems, from many goroutines at once while a reading comes in. Run with -race
// it shows that nothing is shared without a lock; without, that the answer is
// that of one who asks alone.
func TestManyAtOnce(t *testing.T) {
	if testing.Short() {
		t.Skip("opens physical models")
	}
	s := newShop(t)
	ctx := context.Background()
	first, _ := s.call()
	second, u := s.call()
	s.ok(s.RecordPlate(ctx, s.by(), u, map[string]string{"refrigerant": "R-22", "metering": "fixed-orifice"}))
	advise := func(v record.VisitID) func() error {
		return func() error { _, err := s.Advise(ctx, v); return err }
	}
	solve := func() error {
		m, err := s.Model(ctx, first)
		if err != nil {
			return err
		}
		params := m.Plant.Healthy()
		_, err = m.Plant.Solve(&params, m.Surroundings, plant.Cool)
		return err
	}
	card := func(check string) func() error {
		return func() error { _, err := s.Card(ctx, first, check, "cool"); return err }
	}
	read := func() error {
		_, err := s.TakeReadings(ctx, s.by(), first, ReadingsInput{Check: "cap-bench", Demand: "off", Points: []PointInput{{Point: "herm", Text: "41"}}})
		return err
	}
	atOnce(t, advise(first), advise(first), advise(second), card("gauge-pressures"), solve, solve, read)
	atOnce(t, advise(first), card("gauge-pressures"), card("look-listen"), solve)

	// Who asks alone, of a service that has kept nothing, gets the same.
	got := must(s.Advise(ctx, first))(t)
	want := must(newService(t, s.log, 2).Advise(ctx, first))(t)
	if !reflect.DeepEqual(got.Standing, want.Standing) || got.Heading != want.Heading {
		t.Errorf("asked by many: %s %+v; alone: %s %+v", got.Heading, got.Standing, want.Heading, want.Standing)
	}
}
