package plant

import (
	"errors"
	"fmt"
	"slices"

	"rung/internal/cycle"
	"rung/internal/quantity"
)

// ChoiceError says that a field of a nameplate holds something that this
// machine cannot have.
type ChoiceError struct {
	Field   string // "refrigerant"
	Value   string
	Allowed []string
}

func (e *ChoiceError) Error() string {
	return fmt.Sprintf("nameplate: %s %q is none of %v", e.Field, e.Value, e.Allowed)
}

// ConflictError says that two fields of a nameplate do not belong together.
type ConflictError struct {
	Field, Other string
	Reason       string
}

func (e *ConflictError) Error() string {
	return fmt.Sprintf("nameplate: %s does not go with %s: %s", e.Field, e.Other, e.Reason)
}

// Check refuses a completed nameplate that no split air conditioner of the
// trade can have. It returns every objection, joined; each is a
// *quantity.RangeError, a *ChoiceError or a *ConflictError.
func (n Nameplate) Check() error {
	return errors.Join(n.checkMachine(), n.checkOutdoor(), n.checkIndoor(), n.checkAgreement())
}

// limit is one numeric field with the range that the trade knows.
// practice: ranges of split systems of 1.5 to 5 t, generous at both ends.
type limit struct {
	field    string
	value    float64
	min, max float64
	unit     string
}

func checkLimits(list []limit) error {
	var errs []error
	for _, l := range list {
		errs = append(errs, quantity.CheckRange("nameplate", l.field, l.value, l.min, l.max, l.unit))
	}
	return errors.Join(errs...)
}

func (n *Nameplate) checkMachine() error {
	var errs []error
	if known := Refrigerants(); !slices.Contains(known, n.Refrigerant) {
		errs = append(errs, &ChoiceError{Field: "refrigerant", Value: n.Refrigerant, Allowed: known})
	}
	if n.Metering != cycle.TXV && n.Metering != cycle.FixedOrifice {
		errs = append(errs, &ChoiceError{Field: "metering", Value: fmt.Sprint(n.Metering), Allowed: []string{"txv", "fixed-orifice"}})
	}
	limits := []limit{
		{"nominal-cooling", float64(n.NominalCooling), 5000, 18500, "W"},
		{"target-subcooling", float64(n.TargetSubcooling), 1, 15, "K"},
		{"target-superheat", float64(n.TargetSuperheat), 1, 15, "K"},
		{"factory-charge", float64(n.FactoryCharge), 0.8, 12, "kg"},
		{"line-length", float64(n.LineLength), 2, 60, "m"},
	}
	if n.SEER != 0 {
		limits = append(limits, limit{"seer", float64(n.SEER), 2.0, 7.5, "W/W"})
	}
	if n.EER != 0 {
		limits = append(limits, limit{"eer", float64(n.EER), 1.9, 5.0, "W/W"})
	}
	return errors.Join(append(errs, checkLimits(limits))...)
}

func (n *Nameplate) checkOutdoor() error {
	_, err := conductorOhmsPerMetre(n.ConductorAWG)
	return errors.Join(err, checkLimits([]limit{
		{"rated-voltage", float64(n.RatedVoltage), 200, 240, "V"},
		{"rated-load-amps", float64(n.RatedLoadAmps), 4, 40, "A"},
		{"locked-rotor-amps", float64(n.LockedRotorAmps), 20, 220, "A"},
		{"fan-amps", float64(n.FanAmps), 0.2, 5, "A"},
		{"fan-power", float64(n.FanPower), 40, 600, "W"},
		{"herm-capacitance", float64(n.HermCapacitance), 15e-6, 100e-6, "F"},
		{"fan-capacitance", float64(n.FanCapacitance), 2e-6, 20e-6, "F"},
		{"capacitor-voltage", float64(n.CapacitorVoltage), 330, 600, "V"},
		{"max-protection", float64(n.MaxProtection), 10, 80, "A"},
		{"conductor-length", float64(n.ConductorLength), 1, 120, "m"},
	}))
}

func (n *Nameplate) checkIndoor() error {
	var errs []error
	if v := n.Transformer; v != 120 && v != 208 && v != 240 {
		errs = append(errs, &ChoiceError{Field: "transformer-tap", Value: fmt.Sprint(float64(v)), Allowed: []string{"120", "208", "240"}})
	}
	return errors.Join(append(errs, checkLimits([]limit{
		{"blower-voltage", float64(n.BlowerVoltage), 110, 240, "V"},
		{"blower-power", float64(n.BlowerPower), 60, 1200, "W"},
		{"blower-capacitance", float64(n.BlowerCap), 2e-6, 40e-6, "F"},
		{"airflow", float64(n.Airflow), 0.1, 1.4, "m³/s"},
		{"transformer-rating", float64(n.TransformerVA), 20, 100, "VA"},
		{"control-fuse", float64(n.ControlFuse), 1, 10, "A"},
		{"thermostat-cable", float64(n.ThermostatCable), 1, 100, "m"},
		{"outdoor-cable", float64(n.OutdoorCable), 1, 100, "m"},
	}))...)
}

// checkAgreement holds fields against each other.
func (n *Nameplate) checkAgreement() error {
	var errs []error
	conflict := func(field, other, reason string) {
		errs = append(errs, &ConflictError{Field: field, Other: other, Reason: reason})
	}
	// practice: locked rotor amps are 4 to 7 times rated load amps.
	if r := float64(n.LockedRotorAmps / n.RatedLoadAmps); !(2.5 <= r && r <= 10) {
		conflict("locked-rotor-amps", "rated-load-amps", "locked rotor amps are 4 to 7 times rated load amps")
	}
	// practice: 1.3 to 2.2 A per kW of cooling at 230 V.
	if r := float64(n.RatedLoadAmps) / float64(n.NominalCooling) * 1e3; !(0.6 <= r && r <= 3.2) {
		conflict("rated-load-amps", "nominal-cooling", "230 V compressors draw 0.6 to 3.2 A per kW of cooling")
	}
	if r := float64(n.Airflow) / float64(n.NominalCooling); !(2.7e-5 <= r && r <= 8e-5) {
		conflict("airflow", "nominal-cooling", "design airflow is 200 to 600 CFM per ton")
	}
	if low := n.BlowerVoltage < 150; low != (n.Transformer < 150) {
		conflict("transformer-tap", "blower-voltage", "both hang on the branch circuit of the indoor unit")
	}
	if n.MaxProtection < n.RatedLoadAmps {
		conflict("max-protection", "rated-load-amps", "the breaker would open in normal running")
	}
	return errors.Join(errs...)
}

// conductorOhmsPerMetre returns the resistance of one copper conductor, hot.
//
// published: NEC chapter 9 table 8, direct-current resistance at 75 °C,
// uncoated stranded copper: 3.14, 1.98, 1.24, 0.778, 0.491, 0.308 ohm per
// 1000 ft for 14, 12, 10, 8, 6, 4 AWG, as quoted in a public copy.
func conductorOhmsPerMetre(awg int) (float64, error) {
	perMetre := map[int]float64{14: 10.30e-3, 12: 6.50e-3, 10: 4.07e-3, 8: 2.552e-3, 6: 1.611e-3, 4: 1.010e-3}
	r, ok := perMetre[awg]
	if !ok {
		return 0, &ChoiceError{Field: "conductor-awg", Value: fmt.Sprint(awg), Allowed: []string{"14", "12", "10", "8", "6", "4"}}
	}
	return r, nil
}
