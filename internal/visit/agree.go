package visit

import (
	"errors"
	"fmt"
	"slices"

	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/source"
)

// agreed is a nameplate whose unknown fields are taken such that they agree
// with those known.
type agreed struct {
	given plant.Nameplate // what is known, and what had to be taken otherwise than usual
	full  plant.Nameplate
	taken []plant.Assumption
	again map[string]float64 // what was taken otherwise than usual, by field, SI
}

// agree completes a nameplate. A field that was not entered and would contradict
// one that was is taken otherwise: nobody is told that what he never entered is
// wrong.
func agree(n plant.Nameplate) agreed {
	full, taken := n.Complete()
	a := agreed{given: n, full: full, taken: taken, again: map[string]float64{}}
	for range 3 { // one field taken otherwise may move another
		changed := false
		for _, err := range joined(a.full.Check()) {
			changed = a.settle(err) || changed
		}
		if !changed {
			break
		}
		a.full, _ = a.given.Complete()
	}
	for i, t := range taken {
		if v, other := a.again[t.Field]; other {
			taken[i].Value, taken[i].Source = v, source.Source{Class: source.Practice, Ref: "to agree with what the plates say"}
		}
	}
	return a
}

func (a *agreed) assumed(field string) bool {
	return slices.ContainsFunc(a.taken, func(t plant.Assumption) bool { return t.Field == field })
}

// settle takes a field that was not entered such that an objection falls; false
// if it names none.
func (a *agreed) settle(err error) bool {
	var conflict *plant.ConflictError
	var limit *quantity.RangeError
	switch {
	case errors.As(err, &conflict):
		for _, r := range remedies {
			if r.field == conflict.Field && r.other == conflict.Other && a.assumed(r.mend) {
				return a.take(r.mend, r.take(&a.full))
			}
		}
	case errors.As(err, &limit) && a.assumed(limit.Name):
		return a.take(limit.Name, min(max(limit.Value, limit.Min), limit.Max))
	}
	return false
}

// take puts a value into a field that was not entered; false if it is there.
func (a *agreed) take(field string, si float64) bool {
	set, known := setPlate[field]
	if !known || a.again[field] == si {
		return false
	}
	set(&a.given, plateValue{si: si})
	a.again[field] = si
	return true
}

// remedy takes the field mend anew where field and other contradict each other.
type remedy struct {
	field, other, mend string
	take               func(full *plant.Nameplate) float64 // SI
}

// remedies lists how a field taken for another is taken to agree with it.
var remedies = []remedy{
	{"max-protection", "rated-load-amps", "max-protection", func(n *plant.Nameplate) float64 {
		return protectionFor(float64(n.RatedLoadAmps), float64(n.FanAmps))
	}},
	{"max-protection", "rated-load-amps", "rated-load-amps", func(n *plant.Nameplate) float64 {
		return max(float64(n.MaxProtection-n.FanAmps)/protectionRatio, 4) // its rule the other way round, 4 A being the smallest
	}},
	// practice: locked rotor amps are 4 to 7 times rated load amps
	{"locked-rotor-amps", "rated-load-amps", "rated-load-amps", func(n *plant.Nameplate) float64 { return float64(n.LockedRotorAmps) / 5.5 }},
	{"locked-rotor-amps", "rated-load-amps", "locked-rotor-amps", func(n *plant.Nameplate) float64 { return float64(n.RatedLoadAmps) * 5.5 }},
	// practice: 1.3 to 2.2 A per kW of cooling at 230 V
	{"rated-load-amps", "nominal-cooling", "nominal-cooling", func(n *plant.Nameplate) float64 { return float64(n.RatedLoadAmps) / 1.7e-3 }},
	{"rated-load-amps", "nominal-cooling", "rated-load-amps", func(n *plant.Nameplate) float64 { return float64(n.NominalCooling) * 1.7e-3 }},
	// practice: 400 CFM per ton, in m³/s per W; such systems are of 1.5 to 5 t
	{"airflow", "nominal-cooling", "nominal-cooling", func(n *plant.Nameplate) float64 {
		return min(max(float64(n.Airflow)/5.368e-5, 5276), 17584)
	}},
	{"airflow", "nominal-cooling", "airflow", func(n *plant.Nameplate) float64 { return float64(n.NominalCooling) * 5.368e-5 }},
	// practice: indoor units hang on 120 V or on 240 V, blower and transformer alike
	{"transformer-tap", "blower-voltage", "blower-voltage", func(n *plant.Nameplate) float64 {
		if n.Transformer < 150 {
			return 115
		}
		return 230
	}},
}

// protectionRatio is the most that a fuse or breaker may be over the amps of a compressor.
// published: NEC 440.22(A): 225 % of the rated load current, plus the other
// loads (440.22(B)(1)), rounded down; as quoted in public worked examples.
const protectionRatio = 2.25

// protectionFor returns the maximum fuse or breaker, A, of an outdoor unit whose
// compressor and fan draw rla and fan, A.
func protectionFor(rla, fan float64) float64 {
	// published: NEC 240.6(A), standard ratings, within those of such units; as
	// quoted in a public copy.
	for _, rating := range []float64{80, 70, 60, 50, 45, 40, 35, 30, 25, 20, 15} {
		if rating <= protectionRatio*rla+fan {
			return rating
		}
	}
	return 10
}

// objection says in words what the plant has against a plate, naming only what
// was entered.
func (a *agreed) objection(err error) string {
	var conflict *plant.ConflictError
	var limit *quantity.RangeError
	switch {
	case errors.As(err, &conflict):
		field, other := plateName(conflict.Field), plateName(conflict.Other)
		switch one, two := a.assumed(conflict.Field), a.assumed(conflict.Other); {
		case one && two:
			return "what the plates say does not go together: " + conflict.Reason
		case one:
			return fmt.Sprintf("%s fits no such system: %s", other, conflict.Reason)
		case two:
			return fmt.Sprintf("%s fits no such system: %s", field, conflict.Reason)
		}
		return fmt.Sprintf("%s does not go with %s: %s", field, other, conflict.Reason)
	case errors.As(err, &limit) && !a.assumed(limit.Name):
		if f, known := plateFieldOf(limit.Name); known && f.dim != "" {
			return outside(f.name, limit, f.dim, f.unit, 0)
		}
	}
	return err.Error()
}

func plateName(id string) string {
	if f, known := plateFieldOf(id); known {
		return f.name
	}
	return id
}
