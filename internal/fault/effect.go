package fault

import (
	"fmt"
	"math"

	"rung/internal/plant"
	"rung/internal/quantity"
)

// Op is how an effect changes its parameter.
type Op string

// The operations.
const (
	Set   Op = "set"   // to the value
	Scale Op = "scale" // by the value
	Add   Op = "add"   // the value
)

// Effect is the change of one parameter.
type Effect struct {
	Param plant.Param
	Op    Op
	Value Distribution
	// From and To limit the effect to severities From ≤ u < To (≤ 1 at the
	// end), stretched to 0..1 for Value. Usually 0 and 1.
	From, To float64
}

// Distribution gives the value of an effect by severity quantile: a constant,
// or a law between a mild and a severe end.
type Distribution struct {
	Law     Law
	A, B    float64   // mild and severe end; equal for a constant
	Choices []float64 // of the law Choice
}

// Law is the kind of a distribution.
type Law string

// The laws. LogUniform spreads the logarithm evenly, for resistances that
// range over decades. LogNormal has median √(A·B) and its 5th and 95th
// percentiles at A and B, cut off there.
const (
	Constant   Law = "constant"
	Uniform    Law = "uniform"
	LogUniform Law = "loguniform"
	LogNormal  Law = "lognormal"
	Choice     Law = "choice"
)

// At returns the value at the quantile u, from 0 (mild) to 1 (severe).
func (d Distribution) At(u float64) float64 {
	switch d.Law {
	case Uniform:
		return (1-u)*d.A + u*d.B
	case LogUniform:
		return math.Pow(d.A, 1-u) * math.Pow(d.B, u)
	case LogNormal:
		const p = 0.05
		z := normalQuantile(p+(1-2*p)*u) / normalQuantile(1-p) // -1 to 1
		return math.Pow(d.A, (1-z)/2) * math.Pow(d.B, (1+z)/2)
	case Choice:
		return d.Choices[min(int(u*float64(len(d.Choices))), len(d.Choices)-1)]
	}
	return d.A
}

func normalQuantile(p float64) float64 { return math.Sqrt2 * math.Erfinv(2*p-1) }

// wholeRange reports whether e acts at every severity.
func (e *Effect) wholeRange() bool { return e.From == 0 && e.To == 1 }

// acts reports whether e acts at the severity u, and its own quantile there.
func (e *Effect) acts(u float64) (float64, bool) {
	if u < e.From || u > e.To || u == e.To && e.To < 1 {
		return 0, false
	}
	return (u - e.From) / (e.To - e.From), true
}

// Acts reports whether the effect acts at the severity quantile u.
func (e *Effect) Acts(u float64) bool {
	_, acts := e.acts(u)
	return acts
}

func (e *Effect) apply(ps *plant.Params, u float64) error {
	v, acts := e.acts(u)
	if !acts {
		return nil
	}
	x := e.Value.At(v)
	switch e.Op {
	case Scale:
		x *= ps.At(e.Param)
	case Add:
		x += ps.At(e.Param)
	}
	return ps.Put(e.Param, x)
}

// Apply changes ps as the fault does at the severity quantile u, from 0 (mild)
// to 1 (severe). Outside that range nothing is changed and the error is a
// *quantity.RangeError; so it is when the result would leave the sensible
// range of a parameter. A fault of the wiring changes no plant: an error too.
func (f *Fault) Apply(ps *plant.Params, u float64) error {
	if err := quantity.CheckRange("fault.Apply", "severity", u, 0, 1, "1"); err != nil {
		return err
	}
	if f.Wiring {
		return fmt.Errorf("apply %s: it is a fault of the wiring and changes no plant", f.ID)
	}
	changed := *ps
	for i := range f.Effects {
		if err := f.Effects[i].apply(&changed, u); err != nil {
			return fmt.Errorf("apply %s: %w", f.ID, err)
		}
	}
	*ps = changed
	return nil
}

// Severity returns the number that SeverityText speaks of, at the quantile u,
// and its dimension: the value of the first effect that acts there. ok is
// false for a fault that is there or not.
func (f *Fault) Severity(u float64) (value float64, dim quantity.Dimension, ok bool) {
	if f.SeverityText.EN == "" {
		return 0, quantity.DimNone, false
	}
	for i := range f.Effects {
		e := &f.Effects[i]
		if v, acts := e.acts(u); acts {
			dim := e.Param.Describe().Dim
			if e.Op == Scale {
				dim = quantity.DimRatio
			}
			return e.Value.At(v), dim, true
		}
	}
	return 0, quantity.DimNone, false
}
