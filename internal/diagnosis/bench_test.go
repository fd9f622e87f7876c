package diagnosis

import "testing"

// fullSize is a world of the size of the catalogues: 120 faults, 60 checks.
func fullSize(b *testing.B) (*synthetic, *Engine, Case) {
	b.Helper()
	w := newSynthetic(120, 60, 21)
	e := mustEngine(b, w)
	hidden := w.hide(17, 2)
	c := start()
	for i, p := range w.points[:8] {
		c.Readings = append(c.Readings, hidden.read(p.Ref, i+1, 0))
	}
	mustAdvise(b, e, start())
	mustAdvise(b, e, c)
	return w, e, c
}

// Budget: 100 ms on one core, predictions being at hand: the widest comparison.
func BenchmarkAdviseWithoutReadings(b *testing.B) {
	_, e, _ := fullSize(b)
	for b.Loop() {
		mustAdvise(b, e, start())
	}
}

// Budget: 50 ms on one core.
func BenchmarkAdviseAfterEightReadings(b *testing.B) {
	_, e, c := fullSize(b)
	for b.Loop() {
		mustAdvise(b, e, c)
	}
}

// Budget: 1 ms on one core: one posterior over eight readings.
func BenchmarkPosterior(b *testing.B) {
	_, e, c := fullSize(b)
	in, err := e.infer(c)
	if err != nil {
		b.Fatal(err)
	}
	for b.Loop() {
		in.posterior(in.all())
	}
}

// Budget: 1 s on one core: 300 thousand situations.
func BenchmarkPlan(b *testing.B) {
	problems, _ := readProblems(b)
	for b.Loop() {
		NewPlan(problems[2], EndgameSituations).First()
	}
}

// Budget: 1 s on one core: the engine of a system from its plate, and the first advice.
func BenchmarkFirstAdvice(b *testing.B) {
	sit := openHouse(b, hot, "not-cooling").w.sit
	for b.Loop() {
		s, err := Open(sit, DefaultSettings())
		if err != nil {
			b.Fatal(err)
		}
		s.mustAdvise(b, arrived())
	}
}

// Budget: 50 ms on one core: each later advice, the plant being solved as far as it needs.
func BenchmarkLaterAdvice(b *testing.B) {
	s := openHouse(b, hot, "weak-cooling")
	c, _, _ := s.hide(b, "cond-coil-dirty", 1).follow(b, arrived(), 5)
	for b.Loop() {
		s.mustAdvise(b, c)
	}
}
