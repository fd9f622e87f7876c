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
		e.last = nil
		mustAdvise(b, e, start())
	}
}

// Budget: 50 ms on one core.
func BenchmarkAdviseAfterEightReadings(b *testing.B) {
	_, e, c := fullSize(b)
	for b.Loop() {
		e.last = nil
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

// Budget: 0.5 s on one core: the engine of a system from its plate, and the first advice.
func BenchmarkFirstAdvice(b *testing.B) {
	eachDay(b, func(b *testing.B, k int, day float64) {
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

// Budget: 20 ms on one core: the advice after each of the first four checks of
// a call, what could be was solved while the mechanic measured.
func BenchmarkLaterAdvice(b *testing.B) {
	eachDay(b, func(b *testing.B, k int, day float64) { laterAdvice(b, k, day, true) })
}

// Budget: 100 ms on one core: the same at once, with whatever of the plant it has
// to solve. No mechanic measures so fast.
func BenchmarkLaterAdviceAtOnce(b *testing.B) {
	eachDay(b, func(b *testing.B, k int, day float64) { laterAdvice(b, k, day, false) })
}

// Budget: 1 s on one core in all, a plant at a time: what is solved ahead after the
// first advice.
func BenchmarkAhead(b *testing.B) {
	eachDay(b, func(b *testing.B, k int, day float64) {
		sit := situationOn(b, k, day, "not-cooling")
		for b.Loop() {
			b.StopTimer()
			s, err := Open(sit, DefaultSettings())
			if err != nil {
				b.Fatal(err)
			}
			a := s.mustAdvise(b, arrived())
			b.StartTimer()
			for ahead := s.Ahead(arrived(), a); ahead(); {
			}
		}
	})
}

// eachDay runs a benchmark on each plate of the sweep and each of some days.
func eachDay(b *testing.B, run func(b *testing.B, k int, day float64)) {
	for k := range sweepPlates {
		for _, day := range someDays {
			b.Run(fmt.Sprintf("%s/%.0fF", sweepPlates[k].name, day), func(b *testing.B) { run(b, k, day) })
		}
	}
}

// laterAdvice times the advice after further readings, with or without what was
// solved ahead. Opening and the first advice do not count.
func laterAdvice(b *testing.B, k int, day float64, ahead bool) {
	sit := situationOn(b, k, day, "weak-cooling")
	cases := callOf(b, sit)
	var s *System
	left := 0
	for b.Loop() {
		b.StopTimer()
		if left == 0 {
			var err error
			if s, err = Open(sit, DefaultSettings()); err != nil {
				b.Fatal(err)
			}
			left = len(cases) - 1
		}
		before := cases[len(cases)-1-left]
		a := s.mustAdvise(b, before)
		for step := s.Ahead(before, a); ahead && step(); {
		}
		b.StartTimer()
		s.mustAdvise(b, cases[len(cases)-left])
		left--
	}
}

// callOf returns the cases of a call, on arrival and after each of the next checks.
func callOf(b *testing.B, sit Situation) []Case {
	b.Helper()
	s, err := Open(sit, DefaultSettings())
	if err != nil {
		b.Fatal(err)
	}
	hidden := s.hide(b, "cond-coil-dirty", 1)
	cases := []Case{arrived()}
	for range 4 {
		c, _, _ := hidden.follow(b, cases[len(cases)-1], 1)
		cases = append(cases, c)
	}
	return cases
}
