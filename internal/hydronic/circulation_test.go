package hydronic

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// small is a usual small circulator: 5.5 m at no flow, 1.1 L/s at no head.
var small = Pump{Shutoff: 5.5, Runout: 1.1e-3}

// Where pump and loop meet, both have the same head.
//
// A property: it is the definition of the operating point; nothing is published
// for this curve.
func TestPumpMeetsLoop(t *testing.T) {
	for _, loss := range []float64{0, 0.1, 2, 5, 60, 1e4} {
		q, err := small.Flow(quantity.Length(loss), 0.25e-3)
		if err != nil {
			t.Fatal(err)
		}
		pump := 5.5 * (1 - math.Pow(float64(q)/1.1e-3, 2))
		loop := loss * math.Pow(float64(q)/0.25e-3, 2)
		published.Near(t, "head", pump, loop, 1e-9) // rounding
		if loss == 0 {
			published.Near(t, "flow without a loop", float64(q), 1.1e-3, 1e-12)
		}
	}
}

func TestMoreDragLessFlow(t *testing.T) {
	last := math.Inf(1)
	for loss := 0.5; loss < 500; loss *= 1.5 {
		q, err := small.Flow(quantity.Length(loss), 0.25e-3)
		if err != nil || !(float64(q) < last) {
			t.Fatalf("Flow at %v m = %v, %v, after %v", loss, q, err, last)
		}
		last = float64(q)
	}
}

// An emitter at its rating has its rated excess, and with half the excess it
// gives off two fifths of the heat.
//
// memory: half the excess gives 0.41 of the heat in tables of radiators with the
// exponent 1.3
func TestMeanWater(t *testing.T) {
	for _, row := range []struct{ heat, over float64 }{{10e3, 50}, {4.06e3, 25}} {
		T, err := MeanWater(quantity.Power(row.heat), 10e3, 50, celsius(20))
		if err != nil {
			t.Fatal(err)
		}
		published.Near(t, "excess", float64(T)-minTemp-20, row.over, 0.05) // the printed digits
	}
}

// A tank that was sized for a loop brings it to the highest pressure.
func TestTankPressureIsTheInverseOfItsVolume(t *testing.T) {
	const accepted, fill, highest = 1.3e-3, 184e3, 280e3
	v, err := TankVolume(accepted, fill, highest)
	if err != nil {
		t.Fatal(err)
	}
	p, err := Tank{Volume: v, Charge: fill}.Pressure(fill, accepted)
	if err != nil {
		t.Fatal(err)
	}
	published.Near(t, "pressure", float64(p), highest, 1e-6) // rounding
}

// Less air gives more pressure; a tank charged above the fill jumps to its charge.
func TestTankPressure(t *testing.T) {
	last := 0.0
	for _, charge := range []float64{184e3, 150e3, 110e3, 60e3} {
		p, err := Tank{Volume: 8e-3, Charge: quantity.Pressure(charge)}.Pressure(184e3, 1.3e-3)
		if err != nil || !(float64(p) > last) {
			t.Fatalf("charge %v: %v, %v, after %v", charge, p, err, last)
		}
		last = float64(p)
	}
	p, err := Tank{Volume: 8e-3, Charge: 184e3}.Pressure(140e3, 1e-9)
	if err != nil {
		t.Fatal(err)
	}
	published.Near(t, "pressure at the first drop", float64(p), 184e3, 1)
}

func TestCirculationRefuses(t *testing.T) {
	var re *quantity.RangeError
	nan := math.NaN()
	for name, f := range map[string]func() error{
		"no pump":        func() error { _, err := Pump{}.Flow(1, 1e-4); return err },
		"NaN loss":       func() error { _, err := small.Flow(quantity.Length(nan), 1e-4); return err },
		"negative loss":  func() error { _, err := small.Flow(-1, 1e-4); return err },
		"no flow":        func() error { _, err := small.Flow(1, 0); return err },
		"no heat":        func() error { _, err := MeanWater(0, 1e3, 50, celsius(20)); return err },
		"NaN heat":       func() error { _, err := MeanWater(quantity.Power(nan), 1e3, 50, celsius(20)); return err },
		"full tank":      func() error { _, err := Tank{1e-3, 184e3}.Pressure(184e3, 1e-3); return err },
		"negative drop":  func() error { _, err := Tank{1e-3, 184e3}.Pressure(184e3, -1e-5); return err },
		"no fill at all": func() error { _, err := Tank{1e-3, 184e3}.Pressure(0, 1e-5); return err },
	} {
		if err := f(); !errors.As(err, &re) {
			t.Errorf("%s: %v, want a RangeError", name, err)
		}
	}
}
