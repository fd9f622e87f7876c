package diagnosis

import (
	"slices"

	"rung/internal/plant"
	"rung/internal/quantity"
)

// Amount is how much of something a cause comes to, as 5, 50 and 95 % points of
// the posterior.
type Amount struct {
	What  string             // stable id: "severity", "charge", "capacitance", "airflow", "leak", "restriction"
	Range Range              // SI; Low ≤ Mid ≤ High
	Dim   quantity.Dimension // of the range
}

// The amounts by the parameter that a fault changes; what is not listed is told as
// the severity alone.
var amountsOf = map[string]string{
	"refrigerant/charge":             "charge",
	"refrigerant/non-condensables":   "non-condensables",
	"run-capacitor/herm-capacitance": "capacitance",
	"run-capacitor/fan-capacitance":  "capacitance",
	"blower-capacitor/capacitance":   "capacitance",
	"compressor/valve-leak":          "leak",
	"return-duct/leakage":            "leak",
	"drier/restriction":              "restriction",
	"liquid-line/restriction":        "restriction",
	"filter/resistance":              "restriction",
	"filter/clean-resistance":        "restriction",
	"evaporator/air-resistance":      "restriction",
	"evaporator/fouling":             "restriction",
	"supply-duct/resistance":         "restriction",
	"outdoor-coil/airflow":           "airflow",
	"outdoor-cable/y-resistance":     "resistance",
	"contactor/pole-1-resistance":    "resistance",
	"compressor/run-turns":           "turns",
	"condenser-fan/main-turns":       "turns",
}

// amounts fills in what a cause of one fault comes to: the severity as the
// catalogue counts it, and the parameter that it changes, in absolute terms. The charge
// is also told as a mass where the plate says what the right charge is.
func (s *System) amounts(c *Cause) {
	if c.Severity == nil || len(c.Faults) != 1 {
		return
	}
	f, known := s.w.sit.Faults.Fault(c.Faults[0])
	if !known {
		return
	}
	points := [3]float64{c.Severity.Low, c.Severity.Mid, c.Severity.High}
	var severity, value [3]float64
	var dim quantity.Dimension
	param, path := plant.Param(0), ""
	for i, u := range points {
		v, d, has := f.Severity(u)
		if !has {
			return
		}
		severity[i], dim = v, d
		for k := range f.Effects {
			if e := &f.Effects[k]; e.Acts(u) && path == "" {
				param, path = e.Param, e.Param.Describe().Path
			}
		}
		ps := s.w.sit.Plant.Healthy()
		if f.Apply(&ps, u) != nil {
			return
		}
		value[i] = ps.At(param)
	}
	c.Amounts = append(c.Amounts, Amount{"severity", rangeOf(severity), dim})
	what, listed := amountsOf[path]
	if !listed {
		return
	}
	d := param.Describe().Dim
	c.Amounts = append(c.Amounts, Amount{what, rangeOf(value), d})
	if charge := s.platedCharge(); what == "charge" && charge > 0 {
		for i := range value {
			value[i] *= charge
		}
		c.Amounts = append(c.Amounts, Amount{"charge-mass", rangeOf(value), quantity.DimMass})
	}
}

// platedCharge returns the right charge in kg where the plate tells it, else 0.
func (s *System) platedCharge() float64 {
	for _, a := range s.w.sit.Plant.Assumptions() {
		if a.Field == "factory-charge" {
			return 0
		}
	}
	return float64(s.w.sit.Plant.Nameplate().FactoryCharge)
}

// airflow fills in the airflow of the day where the leading cause is a matter of
// air: as the readings and the cause leave it.
func (s *System) airflow(c Case, a *Advice) error {
	if len(a.Causes) == 0 || a.Causes[0].Subsystem != "airflow" {
		return nil
	}
	p, has := s.pointAt[airflowMeasured]
	if !has {
		return nil
	}
	all, err := s.Card(c, airflowMeasured)
	if err != nil {
		return err
	}
	for _, x := range all {
		if x.Cause == a.Causes[0].ID && x.ValueShare > 0 {
			a.Causes[0].Amounts = append(a.Causes[0].Amounts, Amount{"airflow", x.Range, s.points[p].Dim})
		}
	}
	return nil
}

// rangeOf orders three points: where a fault takes another form with the severity
// they need not be in order.
func rangeOf(v [3]float64) Range {
	slices.Sort(v[:])
	return Range{v[0], v[1], v[2]}
}
