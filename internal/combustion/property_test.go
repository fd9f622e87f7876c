package combustion

import (
	"errors"
	"math"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// allFuels visits every fuel at several excesses of air.
func allFuels(t *testing.T, visit func(name string, f Fuel, fl Flue)) {
	t.Helper()
	for _, name := range Fuels() {
		f, err := Lookup(name)
		if err != nil {
			t.Fatal(err)
		}
		for e := 0.0; e <= 5; e += 0.25 {
			fl, err := FlueAt(f, quantity.Ratio(e), 0.008)
			if err != nil {
				t.Fatal(err)
			}
			visit(name, f, fl)
		}
	}
}

// What went in comes out: carbon, hydrogen, oxygen and nitrogen.
func TestAtomsAreKept(t *testing.T) {
	allFuels(t, func(name string, f Fuel, fl Flue) {
		published.Near(t, name+" carbon", fl.dioxide, f.carbon+f.carbonDioxide, 1e-12)
		published.Near(t, name+" hydrogen", 2*fl.water, f.hydrogen+2*fl.airWater, 1e-12)
		published.Near(t, name+" oxygen", 2*fl.dioxide+2*fl.oxygen+fl.water,
			2*oxygenShare*fl.air+2*f.carbonDioxide+fl.airWater, 1e-9)
		published.Near(t, name+" nitrogen", fl.nitrogen, f.nitrogen+(1-oxygenShare)*fl.air, 1e-12)
	})
}

func TestAnalysersComeBack(t *testing.T) {
	allFuels(t, func(name string, f Fuel, fl Flue) {
		byOxygen, err1 := FlueFromOxygen(f, fl.Oxygen, 0.008)
		byDioxide, err2 := FlueFromCO2(f, fl.CarbonDioxide, 0.008)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(name, err)
		}
		published.Near(t, name+" excess by oxygen", float64(byOxygen.ExcessAir), float64(fl.ExcessAir), 1e-9)
		published.Near(t, name+" excess by carbon dioxide", float64(byDioxide.ExcessAir), float64(fl.ExcessAir), 1e-9)
	})
}

// Without loss above 25 °C and with all water condensed, the whole higher
// heating value is had; with none condensed, the lower one.
func TestLossAtTheReference(t *testing.T) {
	const T = 298.15
	for _, name := range Fuels() {
		f, err := Lookup(name)
		if err != nil {
			t.Fatal(err)
		}
		fl, err := FlueAt(f, 0.4, 0)
		if err != nil {
			t.Fatal(err)
		}
		all, err1 := fl.Loss(T, T, 0)
		none, err2 := fl.Loss(T, T, 1)
		if err := errors.Join(err1, err2); err != nil {
			t.Fatal(err)
		}
		published.Near(t, name+" all condensed", float64(all.Efficiency), 1, 1e-12)
		published.Near(t, name+" none condensed", float64(none.Efficiency), f.net25()/f.gross25, 1e-12)
	}
}

func TestLossGrows(t *testing.T) {
	allFuels(t, func(name string, _ Fuel, fl Flue) {
		last := 2.0
		for T := 310.0; T < 1000; T += 30 {
			l, err := fl.Loss(quantity.Temperature(T), 293, 1)
			if err != nil {
				t.Fatal(err)
			}
			if !(float64(l.Efficiency) < last) {
				t.Fatalf("%s: efficiency %v at %v K after %v", name, l.Efficiency, T, last)
			}
			last = float64(l.Efficiency)
		}
	})
}

func TestAirFree(t *testing.T) {
	for _, c := range []struct{ reading, oxygen, want float64 }{{100e-6, 0, 100e-6}, {60e-6, 0.09, 105.4e-6}} {
		got, err := AirFree(quantity.Ratio(c.reading), quantity.Ratio(c.oxygen))
		if err != nil {
			t.Fatal(err)
		}
		published.Near(t, "AirFree", float64(got), c.want, 1e-7)
	}
}

func TestMixOfOneIsThatOne(t *testing.T) {
	a, err := Mix(Part{"methane", 0.5}, Part{"methane", 0.5})
	if err != nil || a != Methane {
		t.Errorf("half and half methane = %+v, %v, want %+v", a, err, Methane)
	}
	b, err := Mix(Part{"methane", 0.9}, Part{"nitrogen", 0.1})
	if err != nil {
		t.Fatal(err)
	}
	published.Near(t, "heat of nine tenths", float64(b.HigherHeating()), 0.9*float64(Methane.HigherHeating()), 1e-3)
}

func TestOutOfRange(t *testing.T) {
	nan := quantity.Ratio(math.NaN())
	fl, err := FlueAt(Methane, 0.3, 0)
	if err != nil {
		t.Fatal(err)
	}
	for name, call := range map[string]func() error{
		"half a gas":         func() error { _, err := Mix(Part{"methane", 0.5}); return err },
		"nothing burns":      func() error { _, err := Mix(Part{"nitrogen", 1}); return err },
		"negative share":     func() error { _, err := Mix(Part{"methane", 1.1}, Part{"ethane", -0.1}); return err },
		"plain air":          func() error { _, err := FlueFromOxygen(Methane, 0.209, 0); return err },
		"too rich in CO2":    func() error { _, err := FlueFromCO2(Methane, 0.13, 0); return err },
		"no CO2":             func() error { _, err := FlueFromCO2(Methane, 0, 0); return err },
		"oxygen not number":  func() error { _, err := FlueFromOxygen(Methane, nan, 0); return err },
		"negative excess":    func() error { _, err := FlueAt(Methane, -0.1, 0); return err },
		"air of a boiler":    func() error { _, err := FlueAt(Methane, 0.1, 0.5); return err },
		"flue of a rocket":   func() error { _, err := fl.Loss(1500, 293, 1); return err },
		"flue not a number":  func() error { _, err := fl.Loss(quantity.Temperature(math.NaN()), 293, 1); return err },
		"air of the Moon":    func() error { _, err := fl.Loss(400, 100, 1); return err },
		"diluted to nothing": func() error { _, err := AirFree(1e-4, 0.2); return err },
		"no rated pressure":  func() error { _, err := OrificeFlow(800, 0); return err },
		"negative pressure":  func() error { _, err := OrificeFlow(-1, 870); return err },
	} {
		var out *quantity.RangeError
		if err := call(); !errors.As(err, &out) {
			t.Errorf("%s: error %v, want a RangeError", name, err)
		}
	}
	var unknown *UnknownError
	if _, err := Lookup("coal"); !errors.As(err, &unknown) {
		t.Errorf("coal: %v", err)
	}
	if _, err := Mix(Part{"argon", 1}); !errors.As(err, &unknown) {
		t.Errorf("argon: %v", err)
	}
}

func FuzzFlue(f *testing.F) {
	f.Add(0.09, 0.008, 450.0, 293.0, 1.0)
	f.Add(0.18, 0.0, 310.0, 280.0, 0.06)
	f.Fuzz(func(t *testing.T, oxygen, w, flue, air, most float64) {
		fl, err := FlueFromOxygen(NaturalGas, quantity.Ratio(oxygen), quantity.HumidityRatio(w))
		if err != nil {
			return
		}
		l, err := fl.Loss(quantity.Temperature(flue), quantity.Temperature(air), quantity.Ratio(most))
		if err != nil {
			return
		}
		sum := float64(l.Dry + l.Water + l.Efficiency + l.Condensate)
		if math.IsNaN(sum) || math.IsInf(sum, 0) || l.Condensate < 0 || l.Condensate > 1 {
			t.Errorf("%v %v %v %v %v: %+v", oxygen, w, flue, air, most, l)
		}
	})
}
