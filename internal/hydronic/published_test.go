package hydronic

import (
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

func celsius(t float64) quantity.Temperature { return quantity.Temperature(t + minTemp) }

func TestPublishedIF97(t *testing.T) {
	for _, r := range published.Read(t, "if97.txt").Rows {
		T, p := r.Number(t, "T"), 1e6*r.Number(t, "p")
		var got float64
		switch name := r.Text("quantity"); name {
		case "volume[m³/kg]":
			got = region1(T, p).v
		case "enthalpy[kJ/kg]":
			got = region1(T, p).h / 1e3
		case "heat-capacity[kJ/(kg·K)]":
			got = region1(T, p).cp / 1e3
		case "boiling-pressure[MPa]":
			got = boilingPressure(T) / 1e6
		case "boiling-point[K]":
			point, err := BoilingPoint(quantity.Pressure(p))
			if err != nil {
				t.Fatal(err)
			}
			got = point.Kelvin()
		default:
			t.Fatalf("%v: unknown quantity", r)
		}
		r.CheckAs(t, r.Text("quantity"), got, r.Number(t, "value"), published.Within(r.Number(t, "tolerance")))
	}
}

func TestPublishedTransport(t *testing.T) {
	for _, r := range published.Read(t, "transport.txt").Rows {
		T, rho := r.Number(t, "T"), r.Number(t, "density")
		got := 1e6 * viscosity(T, rho)
		if r.Text("quantity") == "conductivity[mW/(m·K)]" {
			got = 1e3 * conductivity(T, rho)
		}
		r.CheckAs(t, r.Text("quantity"), got, r.Number(t, "value"), published.Within(r.Number(t, "tolerance")))
	}
}

func TestPublishedWater(t *testing.T) {
	for _, r := range published.Read(t, "water.txt").Rows {
		w, err := WaterAt(celsius(r.Number(t, "t")), quantity.Pressure(1e3*r.Number(t, "p")))
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		r.Check(t, "density", float64(w.Density), published.Relative(2e-5))
		r.Check(t, "heat-capacity", float64(w.SpecificHeat)/1e3, published.Relative(1e-3))
		r.Check(t, "viscosity", 1e3*float64(w.Viscosity), published.Relative(1e-4))
		r.Check(t, "conductivity", float64(w.Conductivity), published.Relative(1e-4))
	}
}

func TestPublishedGlycol(t *testing.T) {
	limits := map[string]published.Limit{
		"density[kg/m³]":           published.Relative(float64(Uncertainty.Density)),
		"heat-capacity[kJ/(kg·K)]": published.Relative(float64(Uncertainty.SpecificHeat)),
		"carrying[MJ/(m³·K)]":      published.Relative(0.03),
		"viscosity[mPa·s]":         published.Relative(float64(Uncertainty.Viscosity)),
		"freezing-point[°C]":       published.Within(2),
	}
	for _, r := range published.Read(t, "glycol.txt").Rows {
		s := Solution{Glycol(r.Text("glycol")), quantity.Ratio(r.Number(t, "mass") / 100)}
		l, err := s.At(celsius(r.Number(t, "t")))
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		ice, err := s.FreezingPoint()
		if err != nil {
			t.Errorf("%v: %v", r, err)
			continue
		}
		name := r.Text("quantity")
		got := map[string]float64{
			"density[kg/m³]":           float64(l.Density),
			"heat-capacity[kJ/(kg·K)]": float64(l.SpecificHeat) / 1e3,
			"carrying[MJ/(m³·K)]":      float64(l.SpecificHeat) * float64(l.Density) / 1e6,
			"viscosity[mPa·s]":         float64(l.Viscosity) * 1e3,
			"freezing-point[°C]":       float64(ice) - minTemp,
		}[name]
		r.CheckAs(t, name, got, r.Number(t, "value"), limits[name])
	}
}

func TestPublishedFreezing(t *testing.T) {
	for _, r := range published.Read(t, "freezing.txt").Rows {
		x := r.Number(t, "mass") / 100
		ice, err := Solution{Glycol(r.Text("glycol")), quantity.Ratio(x)}.FreezingPoint()
		if err != nil {
			t.Fatal(err)
		}
		molality := x / (1 - x) / (r.Number(t, "molar-mass") / 1e3)
		r.CheckAs(t, "freezing-point[°C]", float64(ice)-minTemp, -r.Number(t, "constant")*molality, published.Within(0.65))
	}
}

func TestPublishedExpansion(t *testing.T) {
	const p = 200e3
	cold, err := WaterAt(celsius(40./9), p)
	if err != nil {
		t.Fatal(err)
	}
	for _, r := range published.Read(t, "expansion.txt").Rows {
		rise := quantity.TempDiff((r.Number(t, "hot") - 40) / 1.8)
		hot, err := WaterAt(celsius(40./9).Add(rise), p)
		if err != nil {
			t.Fatal(err)
		}
		r.Check(t, "factor", float64(Expansion(cold, hot, Steel, rise)), published.Within(3e-4))
	}
}
