package diagnosis

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/system"
)

// The targets of this file hold what must be so of every case, whatever was
// read, by whom, on which machine. Their seeds run with every test; to look further:
//
//	go test ./internal/diagnosis -run XXX -fuzz FuzzNothingUnsafe
//
// Properties: nothing is published for them.

// machine is something that advises: a made-up world, a plant, a described system.
type machine struct {
	name   string
	e      *Engine
	advise func(Case) (Advice, error)
	again  func(testing.TB) func(Case) (Advice, error) // the same, of which nothing was asked yet
	real   bool                                        // it speaks of the catalogues
}

var machinesMade = map[int]*machine{}

// wiredMachines are described systems, with a complaint each.
var wiredMachines = []struct{ id, complaint string }{{"gas-furnace", "not-heating"}, {"two-systems", "not-cooling"}}

const machines = 4

// machineOf returns one of the machines; the same for the same number.
func machineOf(tb testing.TB, n int) *machine {
	tb.Helper()
	n = ((n % machines) + machines) % machines
	if m := machinesMade[n]; m != nil {
		return m
	}
	m := &machine{}
	switch n {
	case 0:
		w := newSynthetic(18, 16, 9)
		e := mustEngine(tb, w)
		*m = machine{"made up", e, e.Advise, func(tb testing.TB) func(Case) (Advice, error) { return mustEngine(tb, w).Advise }, false}
	case 1:
		s := openHouse(tb, hot, "not-cooling")
		*m = machine{"plant", s.Engine, s.Advise, func(tb testing.TB) func(Case) (Advice, error) { return freshHouse(tb, hot, "not-cooling").Advise }, true}
	default:
		faults, checks := catalogues(tb)
		x := wiredMachines[n-2]
		d, known := system.Describe(x.id)
		if !known {
			tb.Fatalf("no system %s", x.id)
		}
		open := func(tb testing.TB) *Engine {
			e, err := OpenWired(Wired{System: d, Faults: faults, Checks: checks, Complaint: x.complaint}, DefaultSettings())
			if err != nil {
				tb.Fatal(err)
			}
			return e
		}
		e := open(tb)
		*m = machine{x.id, e, e.Advise, func(tb testing.TB) func(Case) (Advice, error) { return open(tb).Advise }, true}
	}
	machinesMade[n] = m
	return m
}

// somePerson returns anybody who may come to a unit.
func somePerson(r *rand.Rand) Person {
	return Person{Role: []Role{Mechanic, Apprentice, "", "visitor"}[r.IntN(4)], Supervised: r.IntN(2) == 0,
		Refrigerant: r.IntN(2) == 0, Gas: r.IntN(2) == 0, Electrician: r.IntN(3) == 0}
}

// reading returns a reading of any point: as some cause predicts it, off by the meter,
// or wild, or unsettled, or doubted.
func (m *machine) reading(r *rand.Rand, seq, epoch int) Reading {
	p := r.IntN(len(m.e.points))
	pt := &m.e.points[p]
	out := Reading{ID: string(rune('a' + seq)), Ref: pt.Ref, Seq: seq, Epoch: epoch, Unsettled: r.IntN(6) == 0}
	y := m.e.predicted(p, r.IntN(len(m.e.hyps)), r.IntN(4))
	wild := r.IntN(5) == 0
	switch {
	case len(pt.Words) > 0 && (wild || math.IsNaN(y)):
		out.Outcome = Word(r.IntN(len(pt.Words)))
	case len(pt.Words) > 0:
		out.Outcome = Word(int(y))
	case wild:
		out.Outcome = Value(pt.Meter.Low + r.Float64()*(pt.Meter.High-pt.Meter.Low))
	case math.IsNaN(y):
		out.Outcome = NotReadable()
	default:
		out.Outcome = Value(y + r.NormFloat64()*pt.Meter.Instrument(y))
		if r.IntN(8) == 0 {
			out.Spread = 2 * pt.Meter.Sigma(y)
		}
	}
	return out
}

// someCase returns a case of up to n readings, with repairs, refusals and dropped readings.
func (m *machine) someCase(r *rand.Rand, n int) Case {
	c := Case{Person: somePerson(r), Charge: openGate}
	if r.IntN(3) == 0 {
		c.Charge = ChargeFacts{}
	}
	for _, s := range m.e.states {
		if r.IntN(4) == 0 {
			c.Setup = append(c.Setup, s.ID)
		}
	}
	if r.IntN(4) == 0 {
		c.Repairs = append(c.Repairs, m.e.repairs[r.IntN(len(m.e.repairs))].ID)
	}
	for i := range r.IntN(n + 1) {
		reading := m.reading(r, i, r.IntN(c.Epoch()+1))
		reading.Drop = r.IntN(10) == 0
		c.Readings = append(c.Readings, reading)
	}
	for range r.IntN(4) {
		c.Refused = append(c.Refused, Refusal{Ref: m.e.points[r.IntN(len(m.e.points))].Ref, Epoch: r.IntN(c.Epoch() + 1)})
	}
	return c
}

func (m *machine) mustAdvise(tb testing.TB, c Case) Advice {
	tb.Helper()
	a, err := m.advise(c)
	if err != nil {
		tb.Fatalf("%s: %v", m.name, err)
	}
	return a
}

// seeded adds a few seeds for every machine.
func seeded(f *testing.F, each int) {
	for n := range machines {
		for seed := range each {
			f.Add(n, uint64(100*n+seed))
		}
	}
}

// The advice is the same in whatever order the readings and refusals are given.
func FuzzOrderDoesNotMatter(f *testing.F) {
	seeded(f, 2)
	f.Fuzz(func(t *testing.T, n int, seed uint64) {
		m, r := machineOf(t, n), rand.New(rand.NewPCG(seed, 1))
		c := m.someCase(r, 8)
		want := m.mustAdvise(t, c)
		d := c
		d.Readings, d.Refused = append([]Reading(nil), c.Readings...), append([]Refusal(nil), c.Refused...)
		r.Shuffle(len(d.Readings), func(i, j int) { d.Readings[i], d.Readings[j] = d.Readings[j], d.Readings[i] })
		r.Shuffle(len(d.Refused), func(i, j int) { d.Refused[i], d.Refused[j] = d.Refused[j], d.Refused[i] })
		if got := m.mustAdvise(t, d); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: advice depends on the order of %d readings", m.name, len(c.Readings))
		}
	})
}

// The same case gives the same advice, from a machine that was asked much and from one
// that was asked nothing.
func FuzzSameCaseSameAdvice(f *testing.F) {
	seeded(f, 1)
	f.Fuzz(func(t *testing.T, n int, seed uint64) {
		m, r := machineOf(t, n), rand.New(rand.NewPCG(seed, 2))
		c := m.someCase(r, 5)
		want := m.mustAdvise(t, c)
		got, err := m.again(t)(c)
		if err != nil || !reflect.DeepEqual(got, want) {
			t.Errorf("%s: advice depends on what was asked before, %v", m.name, err)
		}
	})
}

// The decibans of the readings add up to the change of the log odds, and the
// probabilities of all causes to one.
func FuzzDecibansAddUp(f *testing.F) {
	seeded(f, 2)
	f.Fuzz(func(t *testing.T, n int, seed uint64) {
		m, r := machineOf(t, n), rand.New(rand.NewPCG(seed, 3))
		c := m.someCase(r, 8)
		a := m.mustAdvise(t, c)
		unread := c
		unread.Readings = nil
		before := map[string]float64{} // any reading, as the repairs leave it
		for _, x := range m.mustAdvise(t, unread).Causes {
			before[x.ID] = x.Probability
		}
		listed, all := map[string]Cause{}, a.UnlistedTotal
		for _, c := range a.Causes {
			listed[c.ID] = c
			all += c.Probability
		}
		if all > 1+1e-9 || all < 0.7 { // what is below ShowAbove is not listed
			t.Errorf("%s: causes add up to %v", m.name, all)
		}
		if len(a.History) == 0 {
			return
		}
		sum := 0.0
		for _, x := range a.History {
			sum += x.Decibans
		}
		cause, known := listed[a.History[0].Cause]
		rival, too := listed[a.History[0].Rival]
		if !known || !too || cause.ID == rival.ID || before[cause.ID] == 0 || before[rival.ID] == 0 {
			return
		}
		want := 10 * math.Log10(cause.Probability/rival.Probability*before[rival.ID]/before[cause.ID])
		if math.Abs(sum-want) > 1e-5 { // rounding of logarithms
			t.Errorf("%s: decibans add up to %.9g, log odds changed by %.9g", m.name, sum, want)
		}
	})
}

// Nobody is asked for what he may not do, nothing past a hazard, no check that
// could not be done, and no charge repair past a shut gate.
func FuzzNothingUnsafe(f *testing.F) {
	seeded(f, 10)
	hazards := []Hazard{HazardGasSmell, HazardCarbonMonoxide, HazardFire, HazardRefrigerantFlammable, HazardWaterNearLive}
	f.Fuzz(func(t *testing.T, n int, seed uint64) {
		m, r := machineOf(t, n), rand.New(rand.NewPCG(seed, 4))
		c := m.someCase(r, 6)
		for _, h := range hazards {
			if r.IntN(8) == 0 {
				c.Hazards = append(c.Hazards, h)
			}
		}
		a := m.mustAdvise(t, c)
		m.holdSafe(t, c, a)
		if a.Verdict == VerdictCheck && len(a.Next) == 0 {
			t.Errorf("%s: it says check, and names none", m.name)
		}
		for _, h := range c.Hazards {
			if h != HazardWaterNearLive && (a.Verdict != VerdictEscalate || len(a.Next) > 0) {
				t.Errorf("%s: at %s the verdict is %s with %d checks", m.name, h, a.Verdict, len(a.Next))
			}
		}
		for _, s := range a.Next {
			for _, ref := range append(append([]Ref(nil), s.Refs...), s.With...) {
				for _, no := range c.Refused {
					if no.Ref == ref && no.Epoch == c.Epoch() {
						t.Errorf("%s: %v is proposed again after it could not be done", m.name, ref)
					}
				}
			}
		}
	})
}

// holdSafe holds what is proposed against the catalogues, or against the made-up world.
func (m *machine) holdSafe(t *testing.T, c Case, a Advice) {
	t.Helper()
	if m.real {
		faults, checks := catalogues(t)
		holdSafe(t, faults, checks, c, a)
	}
	for _, s := range a.Next {
		refs := append([]Ref{{Check: s.Check}}, s.With...)
		for _, ref := range refs {
			ck := &m.e.checks[m.e.checkAt[ref.Check]]
			if !allowed(c, ck.Safety, ck.Licence) {
				t.Errorf("%s: %+v with hazards %v is asked for %s of class S%d, licence %q", m.name, c.Person, c.Hazards, ck.ID, ck.Safety, ck.Licence)
			}
		}
	}
	if a.Verdict != VerdictRepair {
		return
	}
	rep := &m.e.repairs[m.e.repair[a.Repair.ID]]
	if !allowed(c, rep.Safety, rep.Licence) || rep.Charge && !a.Charge.Open || len(a.Repair.Held) > 0 {
		t.Errorf("%s: %+v with hazards %v is asked for the repair %s of class S%d, held %v", m.name, c.Person, c.Hazards, rep.ID, rep.Safety, a.Repair.Held)
	}
}

// holdSafe holds each step of an advice against the catalogues.
func holdSafe(t *testing.T, faults *fault.Catalogue, checks *fieldtest.Catalogue, c Case, a Advice) {
	t.Helper()
	hold := func(id, safety, licence string, needs []string) {
		all := []string{licence}
		for _, n := range needs {
			if x, known := checks.Setup(n); known {
				all = append(all, x.Licence)
			}
		}
		for _, l := range all {
			if !allowed(c, safetyClass(safety), Licence(l)) {
				t.Errorf("%+v with hazards %v is asked for %s: class %s, licence %q", c.Person, c.Hazards, id, safety, l)
			}
		}
	}
	for _, n := range a.Next {
		ck, known := checks.Check(n.Check)
		if !known {
			t.Fatalf("no check %s", n.Check)
		}
		hold(ck.ID, ck.Safety, ck.Licence, ck.Needs)
	}
	for _, r := range faults.Repairs {
		if a.Verdict == VerdictRepair && r.ID == a.Repair.ID {
			hold(r.ID, r.Safety, r.Licence, r.Needs)
		}
	}
}

// Equal standing and running pressures at which liquid can be left never raise
// the odds of missing charge, whatever else was read, settled or not, in any order.
func FuzzEqualPressures(f *testing.F) {
	for seed := range uint64(8) {
		f.Add(seed, 240+25*float64(seed))
	}
	f.Fuzz(func(t *testing.T, seed uint64, psig float64) {
		if !(psig > 40 && psig < 450) {
			t.Skip("no gauge shows that at rest")
		}
		s := openHouse(t, hot, "not-cooling")
		if pascal(psig)*0.99 < liquidLeft*s.w.restPressure() {
			t.Skip("no liquid is left, and then the charge is missing")
		}
		m, r := machineOf(t, 1), rand.New(rand.NewPCG(seed, 5))
		c := arrived()
		pressures := []Ref{suctionStanding, liquidStanding, suctionPressure, liquidPressure}
		for i := range r.IntN(4) {
			x := m.reading(r, i, 0)
			if x.Check != suctionPressure.Check && x.Check != suctionPipe.Check && x.Check != suctionStanding.Check {
				c.Readings = append(c.Readings, x)
			}
		}
		before := s.charge(t, c)
		d := c
		d.Readings = append([]Reading(nil), c.Readings...)
		for i, ref := range pressures {
			p := pascal(psig) * (1 + 0.01*(2*r.Float64()-1)) // two gauges differ by as much
			d.Readings = append(d.Readings, Reading{ID: ref.Point, Ref: ref, Outcome: Value(p), Seq: 10 + i, Unsettled: r.IntN(3) == 0})
		}
		r.Shuffle(len(d.Readings), func(i, j int) { d.Readings[i], d.Readings[j] = d.Readings[j], d.Readings[i] })
		if after := s.charge(t, d); after > before+1e-12 { // rounding
			t.Errorf("%.0f psig everywhere and %d other readings: charge from %.4f to %.4f", psig, len(c.Readings), before, after)
		}
	})
}

// One digit of a meter moves the odds of any two causes by no more than the kernel
// allows: nothing in the reasoning has a cliff. With the particles held, for
// how many there are hangs on the odds in steps.
func TestOddsMoveNoFartherThanTheKernelAllows(t *testing.T) {
	s := openHouse(t, hot, "not-cooling")
	moves := 0
	for i, c := range visits(t, s) {
		s.mu.Lock()
		in, err := s.infer(c)
		if err != nil {
			t.Fatal(err)
		}
		before := in.unmuted(in.all())
		for k, v := range in.ev {
			p := &s.points[v.point]
			if v.outcome.Kind != IsValue {
				continue
			}
			for _, sign := range []float64{1, -1} {
				moved := v
				moved.outcome.Value += sign * p.Meter.Resolution
				was := in.like[k]
				in.ev[k], in.like[k] = moved, s.likelihoodsOf(moved, in.particles)
				after := in.unmuted(in.all())
				in.ev[k], in.like[k] = v, was
				moves++
				most := 2 * p.Meter.Resolution * s.steepest(v)
				for h := range after.hyp {
					for g := range after.hyp {
						if a, b := before.hyp, after.hyp; a[h] > 1e-12 && a[g] > 1e-12 {
							if by := math.Abs(math.Log(b[h] / b[g] * a[g] / a[h])); by > most+1e-9 {
								t.Fatalf("%s: %v by a digit moves %s against %s by %.3g, the kernel allows %.3g", invariantFaults[i], p.Ref, s.hyps[h].ID, s.hyps[g].ID, by, most)
							}
						}
					}
				}
			}
		}
		s.mu.Unlock()
	}
	if moves < 40 {
		t.Errorf("only %d moves", moves)
	}
}

// steepest returns the most by which the logarithm of a likelihood of evidence changes per
// SI unit read: that of the narrowest kernel there is, beside the share of wrong readings.
func (e *Engine) steepest(v evidence) float64 {
	p := &e.points[v.point]
	sigma := math.Inf(1)
	for i := range 201 {
		y := p.Meter.Low + float64(i)/200*(p.Meter.High-p.Meter.Low)
		sigma = math.Min(sigma, e.evidenceSigma(v, p, y))
	}
	most := 0.0
	for z := 0.0; z < 8; z += 1e-3 {
		peak := (1 - v.eps) * math.Exp(-z*z/2) / (sigma * math.Sqrt(2*math.Pi))
		most = math.Max(most, peak*z/sigma/(peak+v.eps*e.broad(v)))
	}
	return most
}

// Where a repair is as good as certain and hangs on no single reading, one digit of any
// meter leaves verdict and repair as they are: exactly, not in most cases.
func TestSureRepairsAreStableInTheLastDigit(t *testing.T) {
	s := openHouse(t, hot, "not-cooling")
	sure, moves := 0, 0
	for i, id := range invariantFaults {
		for seed := range uint64(2) {
			c, a, _ := s.hide(t, id, uint64(i)+20+100*seed).follow(t, arrived(), 12)
			if a.Verdict != VerdictRepair || a.Stop.Certainty < sureEnough || !s.standsWithoutAny(t, c, a.Repair.ID) {
				continue
			}
			sure++
			s.byADigit(c, func(d Case, ref Ref, by float64) {
				moves++
				if b := s.mustAdvise(t, d); b.Verdict != a.Verdict || b.Repair.ID != a.Repair.ID {
					t.Errorf("%s: %v by %g: %s %s at %.3f becomes %v", id, ref, by, a.Verdict, a.Repair.ID, a.Stop.Certainty, doNext(b))
				}
			})
		}
	}
	t.Logf("%d sure repairs, %d moves", sure, moves)
	if sure < 3 || moves < 20 {
		t.Errorf("only %d sure repairs and %d moves came up", sure, moves)
	}
}

// standsWithoutAny says whether a repair would lead clearly without any one of the readings.
func (s *System) standsWithoutAny(t *testing.T, c Case, repair string) bool {
	t.Helper()
	for k := range c.Readings {
		d := c
		d.Readings = append([]Reading(nil), c.Readings...)
		d.Readings[k].Drop = true
		a, err := s.Engine.Decide(d)
		if err != nil {
			t.Fatal(err)
		}
		if a.Repair == nil || a.Repair.ID != repair || a.Stop.Certainty < DefaultSettings().CostStop {
			return false
		}
	}
	return true
}

// sureEnough is the certainty of a repair far from the threshold at which it is proposed.
const sureEnough = 0.95
