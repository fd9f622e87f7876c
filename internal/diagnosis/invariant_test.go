package diagnosis

import (
	"math/rand/v2"
	"reflect"
	"testing"
)

// The tests of this file hold invariants over many cases of a real system.
// Properties: nothing is published for them. Their random numbers have the seeds named.

// pascal returns a gauge pressure in psi at sea level as an absolute one.
// published: NIST SP 811, B.8: 1 psi = 6894.757 Pa; 101 325 Pa is the standard atmosphere.
func pascal(psig float64) float64 { return 101325 + 6894.757*psig }

// Standing and running pressures that are equal, from 50 to 400 psig, in any
// order, never speak for missing charge as long as liquid can be left; below
// its pressure at the colder air none is left, and then the charge may be judged. Seed 6, 1.
func TestEqualPressuresOverTheGauge(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 1))
	s := openHouse(t, hot, "not-cooling")
	rest := s.w.restPressure()
	before := s.charge(t, arrived())
	for range 25 {
		psig := 50 + 350*r.Float64()
		c := arrived()
		for _, ref := range []Ref{suctionStanding, liquidStanding, suctionPressure, liquidPressure} {
			p := pascal(psig) * (1 + 0.01*(2*r.Float64()-1)) // two gauges differ by as much
			c.Readings = append(c.Readings, Reading{Ref: ref, Outcome: Value(p), Seq: r.IntN(4)})
		}
		r.Shuffle(len(c.Readings), func(i, j int) { c.Readings[i], c.Readings[j] = c.Readings[j], c.Readings[i] })
		after, empty := s.charge(t, c), s.ChargeFacts(c).NoLiquid
		switch low := pascal(psig) * 1.01; {
		case low < liquidLeft*rest:
			if !empty {
				t.Errorf("%.0f psig everywhere: liquid cannot be left, and it is not said", psig)
			}
		case pascal(psig)*0.99 >= liquidLeft*rest && (empty || after > before+1e-12): // rounding
			t.Errorf("%.0f psig everywhere: charge from %.4f to %.4f, said to be empty: %v", psig, before, after, empty)
		}
	}
}

// invariantFaults are spread over the groups of the catalogue.
var invariantFaults = []string{"herm-cap-weak", "low-charge-leak", "contactor-coil-open", "filter-clogged", "float-switch-tripped",
	"fan-motor-open", "txv-stuck-closed", "comp-grounded"}

var visitsDone []Case // played once

// visits returns a visit for each of invariantFaults after five checks or less.
func visits(t *testing.T, s *System) []Case {
	t.Helper()
	if visitsDone == nil {
		for i, id := range invariantFaults {
			c, _, _ := s.hide(t, id, uint64(i)).follow(t, arrived(), 5)
			visitsDone = append(visitsDone, c)
		}
	}
	return visitsDone
}

// The order of the readings given is of no account, whatever they are. Seed 6, 2.
func TestRealOrderOfReadingsDoesNotMatter(t *testing.T) {
	r := rand.New(rand.NewPCG(6, 2))
	s := openHouse(t, hot, "not-cooling")
	for i, c := range visits(t, s) {
		want := s.mustAdvise(t, c)
		c.Readings = append([]Reading(nil), c.Readings...)
		r.Shuffle(len(c.Readings), func(i, j int) { c.Readings[i], c.Readings[j] = c.Readings[j], c.Readings[i] })
		if got := s.mustAdvise(t, c); !reflect.DeepEqual(got, want) {
			t.Errorf("%s: advice depends on the order of the readings", invariantFaults[i])
		}
	}
}

// What is to be done does not hang on the last digit of a meter: 19 in 20
// readings may move by it and leave verdict, repair and first check as they are.
func TestAdviceIsStableInTheLastDigit(t *testing.T) {
	s := openHouse(t, hot, "not-cooling")
	same, all := 0, 0
	for i, c := range visits(t, s) {
		a := s.mustAdvise(t, c)
		s.byADigit(c, func(d Case, ref Ref, by float64) {
			b := s.mustAdvise(t, d)
			all++
			if doNext(a) == doNext(b) {
				same++
			} else {
				t.Logf("%s: %v by %g: %v, then %v", invariantFaults[i], ref, by, doNext(a), doNext(b))
			}
		})
	}
	t.Logf("%d of %d moves leave the advice as it is", same, all)
	if all < 40 || same*100 < all*95 {
		t.Errorf("%d of %d moves leave the advice as it is", same, all)
	}
}

// byADigit gives the case with each value read moved by one digit of its meter, up and down.
func (s *System) byADigit(c Case, give func(d Case, ref Ref, by float64)) {
	for k, r := range c.Readings {
		if r.Kind != IsValue {
			continue
		}
		digit := s.points[s.pointAt[r.Ref]].Meter.Resolution
		for _, by := range []float64{digit, -digit} {
			d := c
			d.Readings = append([]Reading(nil), c.Readings...)
			d.Readings[k].Value += by
			give(d, r.Ref, by)
		}
	}
}

// doNext is what an advice comes down to.
func doNext(a Advice) [3]string {
	out := [3]string{string(a.Verdict)}
	if a.Repair != nil {
		out[1] = a.Repair.ID
	}
	if a.Verdict == VerdictCheck && len(a.Next) > 0 {
		out[2] = a.Next[0].Check
	}
	return out
}

// Nobody is asked for what he may not do, and nothing is proposed past a hazard.
func TestNothingUnsafeIsProposedOnARealSystem(t *testing.T) {
	s := openHouse(t, hot, "not-cooling")
	persons := []Person{{}, {Role: Apprentice}, {Role: Apprentice, Supervised: true}, {Role: Mechanic}, able}
	hazards := [][]Hazard{nil, {HazardWaterNearLive}, {HazardFire}}
	for _, c := range visits(t, s) {
		for _, c.Person = range persons {
			for _, c.Hazards = range hazards {
				holdSafe(t, s.w.sit.Faults, s.w.sit.Checks, c, s.mustAdvise(t, c))
			}
		}
	}
}
