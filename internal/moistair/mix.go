package moistair

import (
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// Stream is a flow of moist air.
type Stream struct {
	Air    State
	DryAir quantity.MassFlow // of the dry air in it, which no coil and no mixing changes
}

// StreamOf returns the stream whose volume flow is measured where the air is in
// this state.
func StreamOf(air State, flow quantity.VolumeFlow) Stream {
	return Stream{Air: air, DryAir: quantity.MassFlow(float64(flow) / float64(air.SpecificVolume))}
}

// Mixture is two streams made one.
type Mixture struct {
	Stream
	Fog quantity.HumidityRatio // water or ice afloat, beyond saturation; usually 0
}

// Mix returns the stream that two others make when they meet without heat from
// outside. Warm damp air with cold air can pass saturation; the air is then
// saturated and the rest is fog.
//
// Both must be at one pressure, and the flows not negative nor both zero;
// otherwise the error is a *quantity.RangeError.
//
// published: the balances of dry air, water and energy, as in ASHRAE
// Fundamentals 2017, ch. 1, adiabatic mixing of two moist airstreams; the print
// not seen
func Mix(a, b Stream) (Mixture, error) {
	if err := checkMix(a, b); err != nil {
		return Mixture{}, err
	}
	dry := a.DryAir + b.DryAir
	share := float64(b.DryAir / dry)
	W := blend(float64(a.Air.HumidityRatio), float64(b.Air.HumidityRatio), share)
	h := blend(float64(a.Air.Enthalpy), float64(b.Air.Enthalpy), share)
	T, P := dryBulbOfEnthalpy(h, W), a.Air.Pressure.Pascal()
	fog := 0.0
	if wettest := most(T, P); W > wettest {
		var err error
		if T, err = fogTemp(T, h, W, P); err != nil {
			return Mixture{}, err
		}
		wettest = math.Min(most(T, P), W)
		fog, W = W-wettest, wettest
	}
	air, err := complete(quantity.Temperature(T), W, a.Air.Pressure)
	return Mixture{Stream: Stream{Air: air, DryAir: dry}, Fog: quantity.HumidityRatio(fog)}, err
}

func checkMix(a, b Stream) error {
	const op = "moistair.Mix"
	p := a.Air.Pressure.Pascal()
	for _, err := range []error{
		quantity.CheckRange(op, "pressure", p, minPressure, maxPressure, "Pa"),
		quantity.CheckRange(op, "pressure of the second stream", b.Air.Pressure.Pascal(), p, p, "Pa"),
		quantity.CheckRange(op, "flow", float64(a.DryAir), 0, math.MaxFloat64, "kg/s"),
		quantity.CheckRange(op, "flow of the second stream", float64(b.DryAir), 0, math.MaxFloat64, "kg/s"),
		quantity.CheckRange(op, "flow of both streams", float64(a.DryAir+b.DryAir), math.SmallestNonzeroFloat64, math.MaxFloat64, "kg/s"),
	} {
		if err != nil {
			return err
		}
	}
	return nil
}

func blend(a, b, share float64) float64 { return a + (b-a)*share }

// fogTemp returns the temperature in K at which saturated air with the rest of
// W afloat has the enthalpy h. T is where all of it would be vapour, too cold by
// the heat of condensing. Water is taken to freeze at 0 °C at once.
func fogTemp(T, h, W, P float64) (float64, error) {
	const tol = 1e-9 // K
	surplus := func(T float64) float64 {
		Ws := most(T, P)
		t := T - iceWater
		afloat := waterHeat * t
		if t < 0 {
			afloat = evaporation - sublimation + iceHeat*t
		}
		return enthalpy(T, Ws) + (W-Ws)*afloat - h
	}
	return num.Root("moistair.Mix", surplus, T, dewPoint(vapourFromRatio(W, P)), tol)
}
