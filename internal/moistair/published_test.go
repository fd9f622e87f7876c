package moistair

import (
	"bufio"
	"math"
	"os"
	"strconv"
	"strings"
	"testing"

	"rung/internal/quantity"
)

// publishedRows reads a file of testdata/published: rows of words, comments
// left out.
func publishedRows(t testing.TB, file string) [][]string {
	t.Helper()
	f, err := os.Open("testdata/published/" + file)
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	var rows [][]string
	for sc := bufio.NewScanner(f); sc.Scan(); {
		if words := strings.Fields(sc.Text()); len(words) > 0 && words[0][0] != '#' {
			rows = append(rows, words)
		}
	}
	if len(rows) == 0 {
		t.Fatalf("%s holds no rows", file)
	}
	return rows
}

// numbers reads a row of numbers.
func numbers(t testing.TB, row []string) []float64 {
	t.Helper()
	v := make([]float64, len(row))
	for i, w := range row {
		var err error
		if v[i], err = strconv.ParseFloat(w, 64); err != nil {
			t.Fatal(err)
		}
	}
	return v
}

// near fails unless got is within tol of want.
func near(t testing.TB, call string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.8g, want %.8g, off by %.2g", call, got, want, got-want)
	}
}

func celsius(t float64) quantity.Temperature { return quantity.Temperature(t + iceWater) }

func TestPublishedSaturation(t *testing.T) {
	for _, row := range publishedRows(t, "saturation.txt") {
		v := numbers(t, row)
		p, err := SatPressure(quantity.Temperature(v[0]))
		if err != nil {
			t.Fatal(err)
		}
		near(t, "SatPressure("+row[0]+" K)", float64(p), v[1], v[1]*v[2])
	}
}

func TestPublishedMoistAir(t *testing.T) {
	for _, row := range publishedRows(t, "moist-air.txt") {
		v := numbers(t, row[2:])
		p, db := quantity.Pressure(v[1]), celsius(v[2])
		var s State
		var err error
		switch row[1] {
		case "db_wb":
			s, err = FromWetBulb(db, celsius(v[3]), p)
		case "db_rh":
			s, err = FromRelativeHumidity(db, quantity.RelativeHumidity(v[4]), p)
		case "db_dp":
			s, err = FromDewPoint(db, celsius(v[5]), p)
		default:
			t.Fatalf("unknown pair %q", row[1])
		}
		if err != nil {
			t.Errorf("%s: %v", row[0], err)
			continue
		}
		check := func(name string, got, want, tol, own float64) {
			t.Helper()
			near(t, row[0]+" "+name, got, want, min(tol, own))
		}
		// The last number is what the printed digits of the given pair leave
		// open with the same formulation; the fifth also allows another one.
		check("wet bulb", float64(s.WetBulb)-iceWater, v[3], v[9], 1e-3)
		check("dew point", float64(s.DewPoint)-iceWater, v[5], v[10], 2e-3)
		check("relative humidity", float64(s.RelativeHumidity), v[4], v[11], 1e-4)
		check("humidity ratio", float64(s.HumidityRatio), v[6], v[12], 3e-7)
		check("enthalpy", float64(s.Enthalpy)/1e3, v[7], v[13], 1e-3)
		check("volume", float64(s.SpecificVolume), v[8], v[8]*v[14], 2e-6)
		pz, err := PressureAtElevation(quantity.Length(v[0]))
		if err != nil {
			t.Fatal(err)
		}
		// 1 Pa: the printed elevation is rounded to 0.1 m, 1.2 Pa.
		near(t, row[0]+" pressure at elevation", float64(pz), v[1], 1)
	}
}
