package moistair

import (
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// Load is what a stream of air gives up on its way, negative where it takes up.
type Load struct {
	Total, Sensible, Latent quantity.Power
	Condensate              quantity.MassFlow
}

// SensibleShare returns the sensible over the total heat, NaN without any.
func (l Load) SensibleShare() float64 { return float64(l.Sensible / l.Total) }

// Removed returns the heat given up by air that enters as one state and leaves
// as another, at a flow of dry air.
//
// The total is the drop of enthalpy. The heat that leaves with the condensate is
// counted as removed, as in the air-enthalpy method of ASHRAE Standard 37 (memory):
// some 40 kJ/kg of water against the 2500 of its vapour, below 1 % of the total at
// a comfort coil. Latent is the drop of moisture at the
// entering dry bulb, sensible the drop of temperature at the leaving moisture,
// so that both add up to the total.
func Removed(entering, leaving State, dryAir quantity.MassFlow) Load {
	m := float64(dryAir)
	total := float64(entering.Enthalpy - leaving.Enthalpy)
	W1, W2 := float64(entering.HumidityRatio), float64(leaving.HumidityRatio)
	sensible := (airHeat + W2*vapourHeat) * float64(entering.DryBulb-leaving.DryBulb)
	return Load{
		Total:      quantity.Power(m * total),
		Sensible:   quantity.Power(m * sensible),
		Latent:     quantity.Power(m * (total - sensible)),
		Condensate: quantity.MassFlow(m * (W1 - W2)),
	}
}

// ApparatusDewPoint returns the temperature of the saturated air that the
// leaving air looks mixed from, and the share of the entering air in that mix,
// the bypass.
//
// Air that is not both cooled and dried gives a *quantity.RangeError: the coil
// is dry. Where no saturated air above -50 °C makes the mix, the error is a
// *PairError.
//
// practice: the usual picture of a wet coil, no source
func ApparatusDewPoint(entering, leaving State) (quantity.Temperature, quantity.Ratio, error) {
	const (
		op   = "moistair.ApparatusDewPoint"
		tol  = 1e-10
		step = 0.25 // K
	)
	T1, T2, P := entering.DryBulb.Kelvin(), leaving.DryBulb.Kelvin(), leaving.Pressure.Pascal()
	W1, W2 := float64(entering.HumidityRatio), float64(leaving.HumidityRatio)
	if err := quantity.CheckRange(op, "dry bulb of the leaving air", T2, coilMinT, math.Nextafter(T1, 0), "K"); err != nil {
		return 0, 0, err
	}
	if err := quantity.CheckRange(op, "humidity ratio of the leaving air", W2, 0, math.Nextafter(W1, 0), "kg/kg"); err != nil {
		return 0, 0, err
	}
	// beyond is the air from which x parts of the entering air have been taken.
	beyond := func(x float64) (T, W float64) {
		W = W2 - x*(W1-W2)
		h := float64(leaving.Enthalpy) - x*float64(entering.Enthalpy-leaving.Enthalpy)
		return dryBulbOfEnthalpy(h, W), W
	}
	room := func(x float64) float64 {
		T, W := beyond(x)
		return most(T, P) - W
	}
	x, dx := 0.0, step/(T1-T2)
	for room(x) > 0 {
		x += dx
		if T, W := beyond(x); T < coilMinT || W <= 0 {
			return 0, 0, &PairError{Op: op, First: "entering air", Second: "leaving air",
				Why: "no saturated air makes that mix, as no coil does; the readings contradict each other"}
		}
	}
	if x == 0 { // saturated as it leaves
		return leaving.DryBulb, 0, nil
	}
	x, err := num.Root(op, room, x-dx, x, tol)
	T, _ := beyond(x)
	return quantity.Temperature(T), quantity.Ratio(x / (1 + x)), err
}
