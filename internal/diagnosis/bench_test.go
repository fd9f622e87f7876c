package diagnosis

import (
	"fmt"
	"testing"

	"rung/internal/plant"
)

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

// Budget: 0.5 s on one core for each instance.
func BenchmarkWay(b *testing.B) {
	problems, _ := readProblems(b)
	for _, p := range problems {
		b.Run(p.ID, func(b *testing.B) {
			for b.Loop() {
				if _, err := p.Way(); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

// someDays are the hottest, a warm and a cold day for the benchmarks.
var someDays = []float64{115, 95, 20} // °F outdoors

// situationOn returns the situation of a plate of the sweep on a day.
func situationOn(b *testing.B, k int, outdoor float64, complaint string) Situation {
	b.Helper()
	p, err := plant.Build(sweepPlates[k].plate)
	if err != nil {
		b.Fatal(err)
	}
	sit := openHouse(b, hot, complaint).w.sit
	sit.Plant, sit.At.Outdoor = p, fahrenheit(outdoor)
	return sit
}

// Budget: 1 s on one core: the engine of a system from its plate, and the first advice.
func BenchmarkFirstAdvice(b *testing.B) {
	for k := range sweepPlates {
		for _, day := range someDays {
			b.Run(fmt.Sprintf("%s/%.0fF", sweepPlates[k].name, day), func(b *testing.B) {
				sit := situationOn(b, k, day, "not-cooling")
				for b.Loop() {
					s, err := Open(sit, DefaultSettings())
					if err != nil {
						b.Fatal(err)
					}
					s.mustAdvise(b, arrived())
				}
			})
		}
	}
}

// Budget: 50 ms on one core: the advice after each of the first four checks of
// a call, with whatever of the plant it has to solve. Opening and the first advice do not count.
func BenchmarkLaterAdvice(b *testing.B) {
	for k := range sweepPlates {
		for _, day := range someDays {
			b.Run(fmt.Sprintf("%s/%.0fF", sweepPlates[k].name, day), func(b *testing.B) {
				sit := situationOn(b, k, day, "weak-cooling")
				var left []Case
				var s *System
				for b.Loop() {
					if len(left) == 0 {
						b.StopTimer()
						s, left = callOf(b, sit)
						b.StartTimer()
					}
					s.mustAdvise(b, left[0])
					left = left[1:]
				}
			})
		}
	}
}

// callOf returns a system that has given the first advice of a call, and the
// cases after each of the next checks.
func callOf(b *testing.B, sit Situation) (*System, []Case) {
	b.Helper()
	var s [2]*System
	for i := range s {
		var err error
		if s[i], err = Open(sit, DefaultSettings()); err != nil {
			b.Fatal(err)
		}
		s[i].mustAdvise(b, arrived())
	}
	var cases []Case
	hidden := s[1].hide(b, "cond-coil-dirty", 1)
	c := arrived()
	for range 4 {
		c, _, _ = hidden.follow(b, c, 1)
		cases = append(cases, c)
	}
	return s[0], cases
}
