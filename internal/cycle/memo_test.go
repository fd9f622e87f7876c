package cycle_test

import (
	"testing"

	"rung/internal/cycle"
	"rung/internal/quantity"
)

// A memo answers as Solve does, the first time, again, and once it was full.
// Nothing is published for it.
func TestMemoAnswersAsSolve(t *testing.T) {
	m := machineNamed(t, "txv")
	memo := cycle.NewMemo(3)
	for range 2 {
		for _, charge := range []float64{0.7, 0.9, 1, 1.1, 1.3} {
			c, f := m.RatingCondition(), cycle.Healthy()
			f.Charge = quantity.Ratio(charge)
			want, err := m.Solve(c, f, nil)
			if err != nil {
				t.Fatal(err)
			}
			for range 2 {
				got, err := memo.Solve(m, c, f, nil)
				if err != nil || got != want {
					t.Errorf("charge %g: %v %v, want %v", charge, got, err, want)
				}
			}
			warm, err := memo.Solve(m, c, f, &want)
			if fresh, _ := m.Solve(c, f, &want); err != nil || warm != fresh {
				t.Errorf("charge %g, warm start: %v %v, want %v", charge, warm, err, fresh)
			}
		}
	}
	f := cycle.Healthy()
	f.Charge = -1
	if _, err := memo.Solve(m, m.RatingCondition(), f, nil); err == nil {
		t.Error("a charge below zero gives no error")
	}
	if _, err := (*cycle.Memo)(nil).Solve(m, m.RatingCondition(), cycle.Healthy(), nil); err != nil {
		t.Error(err)
	}
}
