package diagnosis

import (
	"slices"
	"testing"

	"rung/internal/plant"
)

// twoFaults returns a plant with two faults that no pair of the catalogue names,
// and the system that does not know of it.
func twoFaults(t *testing.T, first, second string, seed uint64) (*System, *house) {
	t.Helper()
	s := openHouse(t, hot, "not-cooling")
	a, one := s.byFault[first]
	b, two := s.byFault[second]
	if !one || !two {
		t.Fatalf("no fault %s or %s", first, second)
	}
	e, err := s.withDoubles([][2]int{{a, b}})
	if err != nil {
		t.Fatal(err)
	}
	both := &System{Engine: e, w: e.world.(*plantWorld), wider: &widerSystems{}}
	return s, both.hide(t, first+"+"+second, seed)
}

// After the first of two independent faults is repaired, the second is found though the
// list has no such pair: the contactor pulls in, and the blower still stands. A property, nothing published.
func TestSecondOfTwoIndependentFaultsIsFound(t *testing.T) {
	s, hidden := twoFaults(t, "contactor-coil-open", "blower-motor-open", 2)
	c := arrived()
	read := func(refs ...Ref) {
		for _, ref := range refs {
			r := hidden.read(ref, len(c.Readings)+1)
			r.Epoch = c.Epoch()
			c.Readings = append(c.Readings, r)
		}
	}
	look := []Ref{{"look-listen", "outdoor-fan", Cool}, {"look-listen", "compressor", Cool}, {"look-listen", "blower", Cool}, {"look-listen", "contactor", Cool}}
	read(look...)
	read(Ref{"v-coil-contactor", "volts", Cool})
	c.Repairs = []string{"replace-contactor"}
	hidden.hyp = hidden.s.byFault["blower-motor-open"]
	clear(hidden.seen)
	read(look...)
	read(look...) // twice alike
	a := s.mustAdvise(t, c)
	for range 6 {
		if a.Verdict != VerdictCheck {
			break
		}
		read(a.Next[0].Refs...)
		a = s.mustAdvise(t, c)
	}
	found := 0.0
	for _, x := range a.Causes {
		if slices.Contains(x.Repairs, "replace-blower-motor") && slices.Contains(x.Repairs, "replace-contactor") {
			found += x.Probability
		}
	}
	if a.Cured > 0.5 || found < 0.3 {
		t.Errorf("%s after %d readings: cured %.2f, contactor and blower motor %.2f, unlisted %.2f", a.Verdict, len(c.Readings), a.Cured, found, a.UnlistedTotal)
	}
	t.Logf("%s after %d readings, contactor and blower motor %.2f", a.Verdict, len(c.Readings), found)
}

// Two faults at once are considered where an unlisted cause is likely, and not before.
func TestDoublesOnDemand(t *testing.T) {
	s := openHouse(t, hot, "not-cooling")
	a := s.mustAdvise(t, arrived())
	if s.wantsDoubles(arrived(), a) {
		t.Error("pairs are wanted before the first reading")
	}
	c := arrived()
	c.Readings = []Reading{{Ref: suctionPressure, Outcome: Value(9e5)}}
	a.UnlistedTotal = 0.5
	if !s.wantsDoubles(c, a) {
		t.Error("no pairs are wanted where an unlisted cause is likely")
	}
	pairs := s.doublesOf(a.singles, a.singles)
	if len(pairs) == 0 || len(pairs) > mostDoubled*(mostDoubled-1)/2 {
		t.Errorf("%d pairs", len(pairs))
	}
	e, err := s.withDoubles(pairs)
	if err != nil {
		t.Fatal(err)
	}
	before, after := s.mustAdvise(t, c), mustAdvise(t, e, c)
	if d := before.Causes[0].Probability - after.Causes[0].Probability; d < 0 || d > 0.05 {
		t.Errorf("pairs take %.3f from the leader on one reading", d)
	}
}

// What a cause comes to is told in order, and the charge as a mass only where the plate says what is right.
func TestAmounts(t *testing.T) {
	s := openHouse(t, hot, "weak-cooling")
	c := arrived()
	for i, ref := range []Ref{suctionPressure, liquidPressure, suctionPipe, liquidPipe} {
		c.Readings = append(c.Readings, s.hide(t, "low-charge-leak", 5).read(ref, i+1))
	}
	for _, cause := range s.mustAdvise(t, c).Causes {
		for _, m := range cause.Amounts {
			if !(m.Range.Low <= m.Range.Mid && m.Range.Mid <= m.Range.High) {
				t.Errorf("%s: %s %+v", cause.ID, m.What, m.Range)
			}
			if m.What == "charge-mass" {
				t.Errorf("%s: a mass of charge without a plate", cause.ID)
			}
			if m.What == "charge" && cause.ID == "low-charge-leak" && m.Range.High >= 1 {
				t.Errorf("low charge of %.2f", m.Range.High)
			}
		}
	}
	for path := range amountsOf {
		if _, known := plant.Lookup(path); !known {
			t.Errorf("no parameter %s", path)
		}
	}
}
