package cycle

import (
	"errors"
	"fmt"
	"math"

	"rung/internal/quantity"
)

// complete checks the plate and fills in defaults.
func (r *Rating) complete() error {
	const op = "cycle.Calibrate"
	switch {
	case r.Refrigerant == nil:
		return errors.New(op + ": no refrigerant given")
	case r.Refrigerant.Table() == nil:
		return fmt.Errorf("%s: %s is a blend by composition, which has no tables", op, r.Refrigerant.Name())
	case r.Metering != FixedOrifice && r.Metering != TXV:
		return fmt.Errorf("%s: unknown metering device %d", op, r.Metering)
	case r.Compressor != Scroll && r.Compressor != Reciprocating:
		return fmt.Errorf("%s: unknown compressor %d", op, r.Compressor)
	}
	if r.EER == 0 && r.SEER != 0 {
		r.EER = EERFromSEER(r.SEER)
	}
	if r.SEER == 0 && r.EER != 0 {
		r.SEER = seerFromEER(r.EER)
	}
	if r.TargetSubcooling == 0 {
		r.TargetSubcooling = defaultTarget
	}
	if r.TargetSuperheat == 0 {
		r.TargetSuperheat = defaultTarget
		if r.Metering == FixedOrifice {
			r.TargetSuperheat = orificeTarget
		}
	}
	if r.LineLength == 0 {
		r.LineLength = defaultLine
	}
	if r.IndoorFan == 0 {
		r.IndoorFan = quantity.Power(ratedFanPower(float64(r.SEER)) * indoorFlow * float64(r.NetCapacity))
	}
	if r.OutdoorFan == 0 {
		r.OutdoorFan = outdoorFanPerWat * r.NetCapacity
	}
	if err := r.check(op); err != nil {
		return err
	}
	return r.completeHeating(op)
}

// completeHeating fills in the defaults of a heat pump. Other machines keep no
// heating figures.
func (r *Rating) completeHeating(op string) error {
	if !r.HeatPump {
		r.HeatingMetering, r.HeatingCapacity, r.HeatingCOP, r.HSPF, r.HeatingSubcooling = 0, 0, 0, 0, 0
		return nil
	}
	if r.HeatingMetering == 0 {
		r.HeatingMetering = r.Metering
	}
	if r.HeatingMetering != FixedOrifice && r.HeatingMetering != TXV {
		return fmt.Errorf("%s: unknown metering device %d in heating", op, r.HeatingMetering)
	}
	if r.HeatingSubcooling == 0 {
		r.HeatingSubcooling = heatingSubcooling
	}
	if r.HeatingCOP == 0 && r.HSPF != 0 {
		r.HeatingCOP = COPFromHSPF(r.HSPF)
	}
	return r.checkHeating(op)
}

func (r *Rating) checkHeating(op string) error {
	for _, v := range [...]struct {
		name     string
		x        float64
		min, max float64
		unit     string
	}{
		{"heating capacity over cooling", float64(r.HeatingCapacity / r.NetCapacity), 0.6, 1.5, "1"},
		{"heating COP", float64(r.HeatingCOP), 2, 5, "W/W"},
		{"HSPF", float64(r.HSPF), 1.7, 4, "W/W"},
		{"heating subcooling", float64(r.HeatingSubcooling), 1.5, 20, "K"},
	} {
		given := v.x != 0 // a figure that is not given follows from the coils
		if given && !(v.min <= v.x && v.x <= v.max) {
			return &quantity.RangeError{Op: op, Name: v.name, Value: v.x, Min: v.min, Max: v.max, Unit: v.unit}
		}
	}
	return nil
}

// ratedFanPower returns the blower power in the rated figures, W per m³/s:
// 0.25 W per ft³/min up to SEER 14, 0.18 from SEER 16.
//
// published: an open building-energy library citing ASHRAE 1449-RP.
func ratedFanPower(seer float64) float64 {
	const perCFM = 1 / 4.719474e-4
	x := math.Min(math.Max((seer*btuPerWattHour-14)/2, 0), 1)
	return (0.25 - 0.07*x) * perCFM
}

// EERFromSEER returns the full-load efficiency usual for a seasonal one, both W/W.
//
// published: California Title 24 compliance model, as coded in an open library:
// 10 + 0.84(SEER - 11.5) below SEER 13, 11.3 + 0.57(SEER - 13) to 16, 13 above,
// in Btu/Wh.
func EERFromSEER(seer quantity.Ratio) quantity.Ratio {
	s := float64(seer) * btuPerWattHour
	e := 13.0
	switch {
	case s < 13:
		e = 10 + 0.84*(s-11.5)
	case s < 16:
		e = 11.3 + 0.57*(s-13)
	}
	return quantity.Ratio(e / btuPerWattHour)
}

// seerFromEER inverts EERFromSEER; from EER 13 on it gives SEER 16.
func seerFromEER(eer quantity.Ratio) quantity.Ratio {
	e := float64(eer) * btuPerWattHour
	s := 16.0
	switch {
	case e < 11.3:
		s = 11.5 + (e-10)/0.84
	case e < 13:
		s = 13 + (e-11.3)/0.57
	}
	return quantity.Ratio(s / btuPerWattHour)
}

func (r *Rating) check(op string) error {
	for _, v := range [...]struct {
		name     string
		x        float64
		min, max float64
		unit     string
	}{
		{"net capacity", float64(r.NetCapacity), 4e3, 22e3, "W"},
		{"EER", float64(r.EER), 1.9, 5, "W/W"},
		{"SEER", float64(r.SEER), 1.9, 8, "W/W"},
		{"target subcooling", float64(r.TargetSubcooling), 1.5, 12, "K"},
		{"target superheat", float64(r.TargetSuperheat), 1.5, 14, "K"},
		{"line length", float64(r.LineLength), 1, 40, "m"},
		{"indoor fan", float64(r.IndoorFan), 0, 0.15 * float64(r.NetCapacity), "W"},
		{"outdoor fan", float64(r.OutdoorFan), 0, 0.1 * float64(r.NetCapacity), "W"},
		{"spread of condensing over ambient", float64(r.Spread.CondensingOverAmbient), -6, 8, "K"},
		{"spread of evaporating", float64(r.Spread.Evaporating), -5, 5, "K"},
		{"spread of superheat", float64(r.Spread.Superheat), -4.5, 8, "K"},
		{"spread of EER", float64(r.Spread.EER), -0.2, 0.2, "of plate"},
		{"spread of charge sensitivity", float64(r.Spread.ChargeSensitivity), -0.5, 0.6, "1"},
		{"spread of slip exponent", float64(r.Spread.SlipExponent), -0.2, 0.3, "1"},
		{"spread of orifice exponent", float64(r.Spread.OrificeExponent), -0.4, 0.4, "1"},
	} {
		if !(v.min <= v.x && v.x <= v.max) {
			return &quantity.RangeError{Op: op, Name: v.name, Value: v.x, Min: v.min, Max: v.max, Unit: v.unit}
		}
	}
	return nil
}

// credible returns the band of peak compressor efficiency, motor included.
// memory: usual figures of hermetic compressors of this size.
func (r *Rating) credible() (lo, hi float64) {
	if r.Compressor == Reciprocating {
		return 0.50, 0.68
	}
	return 0.55, 0.75
}

// condensingOverAmbient returns the class average at the rating point, K:
// 27 °F at SEER 10, 22 at 13, 17 at 16 and above.
//
// practice: rules of the trade by SEER class; the trade press gives 30 °F for
// standard efficiency.
func condensingOverAmbient(seer float64) float64 {
	s := math.Min(math.Max(seer*btuPerWattHour, 8), 16)
	return (27 - (s-10)*5/3) * kelvinPerFahrenheit
}

// evaporating returns the class average in the coil at the rating point, K:
// 43 °F at SEER 10, rising 1.5 °F per point to 49 °F at SEER 14.
//
// practice: 46 °F all told. published: 40 °F for standard efficiency (trade
// press), 52 °F for one machine of SEER 13 (NISTIR 7350, case C07): the slope
// lies between.
func evaporating(seer float64) float64 {
	s := math.Min(math.Max(seer*btuPerWattHour, 9), 14)
	return (43 + 1.5*(s-10) + 459.67) * kelvinPerFahrenheit
}
