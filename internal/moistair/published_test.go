package moistair

import (
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

func celsius(t float64) quantity.Temperature { return quantity.Temperature(t + iceWater) }

func TestPublishedSaturation(t *testing.T) {
	for _, row := range published.Read(t, "saturation.txt").Rows {
		p, err := SatPressure(quantity.Temperature(row.Number(t, "T")))
		if err != nil {
			t.Fatal(err)
		}
		row.Check(t, "saturation-pressure", float64(p), published.Relative(row.Number(t, "tolerance")))
	}
}

func TestPublishedMoistAir(t *testing.T) {
	for _, row := range published.Read(t, "moist-air.txt").Rows {
		s, err := given(t, row)
		if err != nil {
			t.Errorf("%v: %v", row, err)
			continue
		}
		check := func(name string, got, own float64) {
			t.Helper()
			tol := row.Number(t, "tol-"+name)
			if name == "volume" {
				tol *= row.Number(t, name)
			}
			row.Check(t, name, got, published.Within(min(tol, own)))
		}
		// The last number is what the printed digits of the given pair leave
		// open with the same formulation; the row's also allows another one.
		check("wet-bulb", float64(s.WetBulb)-iceWater, 1e-3)
		check("dew-point", float64(s.DewPoint)-iceWater, 2e-3)
		check("relative-humidity", float64(s.RelativeHumidity), 1e-4)
		check("humidity-ratio", float64(s.HumidityRatio), 3e-7)
		check("enthalpy", float64(s.Enthalpy)/1e3, 1e-3)
		check("volume", float64(s.SpecificVolume), 2e-6)
		pz, err := PressureAtElevation(quantity.Length(row.Number(t, "elevation")))
		if err != nil {
			t.Fatal(err)
		}
		// 1 Pa: the printed elevation is rounded to 0.1 m, 1.2 Pa.
		row.Check(t, "pressure", float64(pz), published.Within(1))
	}
}

// given returns the state from the pair of properties that the row names.
func given(t *testing.T, row published.Row) (State, error) {
	t.Helper()
	p, db := quantity.Pressure(row.Number(t, "pressure")), celsius(row.Number(t, "dry-bulb"))
	switch row.Text("given") {
	case "db_wb":
		return FromWetBulb(db, celsius(row.Number(t, "wet-bulb")), p)
	case "db_rh":
		return FromRelativeHumidity(db, quantity.RelativeHumidity(row.Number(t, "relative-humidity")), p)
	case "db_dp":
		return FromDewPoint(db, celsius(row.Number(t, "dew-point")), p)
	}
	t.Fatalf("%v: unknown pair", row)
	return State{}, nil
}

// The rows were computed from the dry bulb; here the other columns give it back.
func TestPublishedPairs(t *testing.T) {
	for _, row := range published.Read(t, "moist-air.txt").Rows {
		p := quantity.Pressure(row.Number(t, "pressure"))
		wetBulb := WetBulbIs(celsius(row.Number(t, "wet-bulb")))
		humidity := RelativeHumidityIs(quantity.RelativeHumidity(row.Number(t, "relative-humidity")))
		ratio := HumidityRatioIs(quantity.HumidityRatio(row.Number(t, "humidity-ratio")))
		enthalpy := EnthalpyIs(quantity.SpecificEnthalpy(1e3 * row.Number(t, "enthalpy")))
		for _, pair := range []struct {
			name string
			a, b Given
			tol  float64 // K; what the printed digits of the pair leave open
		}{
			{"wet bulb and relative humidity", wetBulb, humidity, 5e-3},
			{"relative humidity and enthalpy", humidity, enthalpy, 2e-3},
			{"humidity ratio and enthalpy", ratio, enthalpy, 1e-3},
		} {
			s, err := From(pair.a, pair.b, p)
			if err != nil {
				t.Errorf("%v: %s: %v", row, pair.name, err)
				continue
			}
			row.CheckAs(t, "dry-bulb by "+pair.name+"[°C]", float64(s.DryBulb)-iceWater, row.Number(t, "dry-bulb"), published.Within(pair.tol))
		}
	}
}

func TestPublishedProcesses(t *testing.T) {
	const p = 101325
	at := func(db, rh float64) State {
		s, err := From(DryBulbIs(celsius(db)), RelativeHumidityIs(quantity.RelativeHumidity(rh)), p)
		if err != nil {
			t.Fatal(err)
		}
		return s
	}
	cold := at(2, 1)
	warm, err := From(DryBulbIs(celsius(40)), HumidityRatioIs(cold.HumidityRatio), p)
	if err != nil {
		t.Fatal(err)
	}
	heating := Removed(cold, warm, StreamOf(cold, 10).DryAir)

	damp := at(30, 0.5)
	cooling := Removed(damp, at(10, 1), StreamOf(damp, 5).DryAir)

	outdoor, err := From(DryBulbIs(celsius(4)), WetBulbIs(celsius(2)), p)
	if err != nil {
		t.Fatal(err)
	}
	mixed, err := Mix(StreamOf(outdoor, 2), StreamOf(at(25, 0.5), 6.25))
	if err != nil {
		t.Fatal(err)
	}
	published.Read(t, "processes.txt").CheckList(t, map[string]float64{
		"heating heat":    -float64(heating.Total) / 1e3,
		"cooling heat":    (float64(cooling.Total) - float64(cooling.Condensate)*waterHeat*10) / 1e3,
		"mixing dry-bulb": float64(mixed.Air.DryBulb) - iceWater,
		"mixing wet-bulb": float64(mixed.Air.WetBulb) - iceWater,
	})
}
