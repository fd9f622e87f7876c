package combustion

import (
	"strconv"
	"strings"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

const btuPerFt3 = 37258.95 // J/m³ in a Btu/ft³; published: NIST SP 811, appendix B

func TestPublishedHeatingValues(t *testing.T) {
	for _, r := range published.Read(t, "heating_values.txt").Rows {
		f := mustMix(Part{r.Text("gas"), 1})
		got := map[string]float64{
			"higher[Btu/ft³]":     float64(f.HigherHeating()) / btuPerFt3,
			"lower[Btu/ft³]":      float64(f.LowerHeating()) / btuPerFt3,
			"specific-gravity[-]": float64(f.SpecificGravity()),
		}[r.Text("quantity")]
		r.CheckAs(t, r.Text("quantity"), got, r.Number(t, "value"), published.Relative(5e-4))
	}
}

func TestPublishedFormation(t *testing.T) {
	const dioxide, water = -393.508, -241.825 // kJ/mol, see the head of the file
	for _, r := range published.Read(t, "formation.txt").Rows {
		want := r.Number(t, "formation") - r.Number(t, "carbon")*dioxide - r.Number(t, "hydrogen")/2*water
		f := mustMix(Part{r.Text("gas"), 1})
		r.CheckAs(t, "heat of combustion[kJ/mol]", f.net25()/1e3, want, published.Within(1))
	}
}

func TestPublishedGases(t *testing.T) {
	gases := map[string]polynomial{"nitrogen": nitrogenGas, "oxygen": oxygenGas, "carbon-dioxide": dioxideGas, "water": waterGas}
	for _, r := range published.Read(t, "gases.txt").Rows {
		g := gases[r.Text("gas")]
		r.Check(t, "heat-capacity", g.heatCapacity(298.15), published.Relative(4e-3))
		r.Check(t, "enthalpy", g.over25(600)/1e3, published.Relative(4e-3))
		r.Check(t, "formation", g.enthalpy(298.15)/1e3, published.Within(0.1))
	}
}

func TestPublishedFuels(t *testing.T) {
	for _, r := range published.Read(t, "fuels.txt").Rows {
		f, err := Lookup(r.Text("fuel"))
		if err != nil {
			t.Fatal(err)
		}
		got := map[string]float64{
			"higher-per-mass[MJ/kg]": float64(f.HigherHeatingPerMass()) / 1e6,
			"higher[Btu/ft³]":        float64(f.HigherHeating()) / btuPerFt3,
			"air[ft³/ft³]":           float64(f.AirPerVolume()),
			"air-per-mass[kg/kg]":    float64(f.AirPerMass()),
			"ultimate-CO2[%]":        100 * float64(f.UltimateCO2()),
			"specific-gravity[-]":    float64(f.SpecificGravity()),
		}[r.Text("quantity")]
		low, high, _ := strings.Cut(r.Text("value"), "..")
		r.CheckRange(t, r.Text("quantity"), got, number(t, low), number(t, high))
	}
}

func number(t *testing.T, text string) float64 {
	t.Helper()
	x, err := strconv.ParseFloat(text, 64)
	if err != nil {
		t.Fatal(err)
	}
	return x
}

func TestPublishedEfficiency(t *testing.T) {
	const air = quantity.Temperature(299.817) // K, 80 °F
	for _, r := range published.Read(t, "efficiency.txt").Rows {
		fl, err := FlueFromOxygen(Methane, quantity.Ratio(r.Number(t, "oxygen")/100), 0)
		if err != nil {
			t.Fatal(err)
		}
		r.Check(t, "excess-air", 100*float64(fl.ExcessAir), published.Within(1))
		for _, column := range []string{"200F", "300F", "400F", "500F", "600F"} {
			rise := quantity.TempDiff(number(t, strings.TrimSuffix(column, "F")) / 1.8)
			l, err := fl.Loss(air.Add(rise), air, 1)
			if err != nil {
				t.Fatal(err)
			}
			r.Check(t, column, 100*float64(l.Efficiency), published.Within(0.65))
		}
	}
}
