package hydronic

import (
	"math"

	"rung/internal/quantity"
)

// Pump is a small circulator by the two ends of its curve, which is taken as a
// parabola that falls from the shut-off head to the flow at no head:
// H = Shutoff·(1 − (q/Runout)²).
//
// practice: small wet-rotor circulators have curves of this form; the maker's
// curve wins.
type Pump struct {
	Shutoff quantity.Length     // head at no flow
	Runout  quantity.VolumeFlow // flow at no head
}

// Flow returns what the pump moves through a loop whose head loss grows with the
// square of its flow and is loss at the flow at.
//
// Heads and flows must be above zero, loss may be zero; otherwise the error is a
// *quantity.RangeError.
func (p Pump) Flow(loss quantity.Length, at quantity.VolumeFlow) (quantity.VolumeFlow, error) {
	const op = "hydronic.Pump.Flow"
	for _, c := range []struct {
		name string
		x    float64
		most float64
		unit string
	}{
		{"shut-off head", float64(p.Shutoff), 100, "m"},
		{"flow at no head", float64(p.Runout), 1, "m³/s"},
		{"flow of the loss", float64(at), 1, "m³/s"},
	} {
		if err := quantity.CheckRange(op, c.name, c.x, math.SmallestNonzeroFloat64, c.most, c.unit); err != nil {
			return 0, err
		}
	}
	if err := quantity.CheckRange(op, "head loss", float64(loss), 0, 1e6, "m"); err != nil {
		return 0, err
	}
	// Shutoff·(1 − (q/Runout)²) = loss·(q/at)²
	k := float64(p.Shutoff)/(float64(p.Runout)*float64(p.Runout)) + float64(loss)/(float64(at)*float64(at))
	return quantity.VolumeFlow(math.Sqrt(float64(p.Shutoff) / k)), nil
}

// emitterExponent is how the heat of radiators and baseboards grows with the
// excess of their mean water over the room.
//
// memory: EN 442 gives each radiator its own, near 1.3
const emitterExponent = 1.3

// MeanWater returns the mean water temperature at which an emitter gives off a
// heat flow into a room, if it gives off rated at the excess over.
//
// Heat, rated and over must be above zero; otherwise the error is a
// *quantity.RangeError.
func MeanWater(heat, rated quantity.Power, over quantity.TempDiff, room quantity.Temperature) (quantity.Temperature, error) {
	const op = "hydronic.MeanWater"
	for _, c := range []struct {
		name string
		x    float64
		unit string
	}{{"heat", float64(heat), "W"}, {"rated heat", float64(rated), "W"}, {"excess", over.Kelvin(), "K"}} {
		if err := quantity.CheckRange(op, c.name, c.x, math.SmallestNonzeroFloat64, 1e6, c.unit); err != nil {
			return 0, err
		}
	}
	return room.Add(quantity.TempDiff(over.Kelvin() * math.Pow(float64(heat/rated), 1/emitterExponent))), nil
}

// Tank is an expansion tank with a diaphragm on a loop.
type Tank struct {
	Volume quantity.Volume
	Charge quantity.Pressure // absolute, of its air with the water side empty
}

// Pressure returns the absolute pressure of a loop that was filled to the fill
// pressure and then pushes a further volume into its tank: Boyle's law. A loop
// filled to less than the charge has no water in its tank, and the first drop
// lifts its pressure to the charge, as neither water nor pipes yield.
//
// The volume accepted must leave some of the air; otherwise the error is a
// *quantity.RangeError.
//
// published: Boyle's law, as in TankVolume, whose inverse this is when the tank
// is charged to the fill pressure
func (t Tank) Pressure(fill quantity.Pressure, accepted quantity.Volume) (quantity.Pressure, error) {
	const op = "hydronic.Tank.Pressure"
	if err := quantity.CheckRange(op, "fill pressure", fill.Pascal(), 1e4, maxPressure, "Pa"); err != nil {
		return 0, err
	}
	air := float64(t.Volume) * math.Min(1, float64(t.Charge/fill)) // m³ once it holds water
	if err := quantity.CheckRange(op, "volume accepted", float64(accepted), 0, math.Nextafter(air, 0), "m³"); err != nil {
		return 0, err
	}
	if accepted == 0 {
		return fill, nil
	}
	return quantity.Pressure(math.Max(fill.Pascal(), t.Charge.Pascal()) * air / (air - float64(accepted))), nil
}
