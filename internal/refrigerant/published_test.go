package refrigerant

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

func mustLookup(t testing.TB, name string) *Fluid {
	t.Helper()
	f, err := Lookup(name)
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// mustLoad reads a fluid that only the tests use: it shows that a data file is
// all that a further fluid needs.
func mustLoad(t testing.TB, name string) *Fluid {
	t.Helper()
	if f, err := Lookup(name); err == nil {
		return f
	}
	text, err := os.ReadFile("testdata/fluid/" + name + ".txt")
	if err != nil {
		t.Fatal(err)
	}
	f, err := parseFluid(name+".txt", string(text))
	if err != nil {
		t.Fatal(err)
	}
	return f
}

// near fails unless got is within tol of want, relative to scale.
func near(t testing.TB, call string, got, want, scale, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol*math.Abs(scale)) {
		t.Errorf("%s = %.10g, want %.10g, off by %.2g of %g", call, got, want, math.Abs((got-want)/scale), scale)
	}
}

// tolerance of the computed rows, as their heads give it.
const rowTol = 1e-6

func TestPublishedSaturation(t *testing.T) {
	for _, name := range Names() {
		f := mustLookup(t, name)
		for _, row := range publishedRows(t, "saturation-"+name+".txt") {
			v := numbers(t, row)
			T := quantity.Temperature(v[0])
			s, err := f.SaturationAtTemp(T)
			if err != nil {
				t.Errorf("%s SaturationAtTemp(%v): %v", name, T, err)
				continue
			}
			checkSaturation(t, name+" SaturationAtTemp("+row[0]+" K)", s, v)

			bub, err := f.SaturationAtPressure(quantity.Pressure(v[1]))
			if err != nil {
				t.Errorf("%s SaturationAtPressure(%v): %v", name, v[1], err)
				continue
			}
			near(t, name+" bubble temperature at "+row[1]+" Pa", float64(bub.BubbleTemp), v[0], v[0], rowTol/10)
			near(t, name+" liquid enthalpy at "+row[1]+" Pa", float64(bub.LiquidEnthalpy), v[5], v[5], rowTol)
			dew, err := f.SaturationAtPressure(quantity.Pressure(v[2]))
			if err != nil {
				t.Errorf("%s SaturationAtPressure(%v): %v", name, v[2], err)
				continue
			}
			near(t, name+" dew temperature at "+row[2]+" Pa", float64(dew.DewTemp), v[0], v[0], rowTol/10)
			near(t, name+" vapour enthalpy at "+row[2]+" Pa", float64(dew.VapourEnthalpy), v[6], v[6], rowTol)
		}
	}
}

// checkSaturation compares s with a row of the saturation files.
func checkSaturation(t testing.TB, call string, s Saturation, v []float64) {
	t.Helper()
	near(t, call+" bubble pressure", float64(s.BubblePressure), v[1], v[1], rowTol)
	near(t, call+" dew pressure", float64(s.DewPressure), v[2], v[2], rowTol)
	near(t, call+" liquid density", float64(s.LiquidDensity), v[3], v[3], rowTol)
	near(t, call+" vapour density", float64(s.VapourDensity), v[4], v[4], rowTol)
	near(t, call+" liquid enthalpy", float64(s.LiquidEnthalpy), v[5], v[5], rowTol)
	near(t, call+" vapour enthalpy", float64(s.VapourEnthalpy), v[6], v[6], rowTol)
	near(t, call+" liquid entropy", float64(s.LiquidEntropy), v[7], 1000, rowTol)
	near(t, call+" vapour entropy", float64(s.VapourEntropy), v[8], 1000, rowTol)
}

func TestPublishedStates(t *testing.T) {
	for _, name := range Names() {
		f := mustLookup(t, name)
		for _, phase := range []Phase{Liquid, Vapour} {
			for _, row := range publishedRows(t, string(phase)+"-"+name+".txt") {
				v := numbers(t, row)
				call := name + " StateAt(" + row[0] + " Pa, " + row[2] + " K)"
				s, err := f.StateAt(quantity.Pressure(v[0]), quantity.Temperature(v[2]))
				if err != nil || s.Phase != phase {
					t.Errorf("%s: phase %q, %v, want %s", call, s.Phase, err, phase)
					continue
				}
				near(t, call+" density", float64(s.Density), v[3], v[3], rowTol)
				near(t, call+" enthalpy", float64(s.Enthalpy), v[4], v[4], rowTol)
				near(t, call+" entropy", float64(s.Entropy), v[5], 1000, rowTol)
				near(t, call+" heat capacity", float64(s.HeatCapacity), v[6], v[6], rowTol)
				near(t, call+" speed of sound", float64(s.SpeedOfSound), v[7], v[7], rowTol)
			}
		}
	}
}

func TestPublishedEquationPoints(t *testing.T) {
	const tol, caloricTol = 1e-10, 1e-8 // as the head of the file gives them
	for _, row := range publishedRows(t, "equation-points.txt") {
		f := mustLoad(t, row[0])
		if row[7] == "-" {
			row[7] = "NaN"
		}
		v := numbers(t, row[1:])
		T, rho := v[0], v[1]
		call := row[0] + " at " + row[1] + " K, " + row[2] + " mol/m³: "
		M, R := f.eq.molarMass, f.eq.gasConstant
		pt := f.eq.at(T, rho)
		near(t, call+"p", pt.p, v[2], v[2], tol)
		near(t, call+"h", pt.h*M, v[3], R*T, caloricTol)
		near(t, call+"s", pt.s*M, v[4], R, caloricTol)
		near(t, call+"cp", pt.cp*M, v[5], v[5], tol)
		if !math.IsNaN(v[6]) {
			near(t, call+"w", pt.w, v[6], v[6], tol)
		}
		near(t, call+"αʳ", f.eq.residualAt(f.eq.reduceT/T, rho/f.eq.reduceRho).a, v[7], v[7], tol)
	}
}

func TestPrintedInPapers(t *testing.T) {
	caloricTol := map[string]float64{"R-125": 1e-6, "R-290": 1e-7} // as the head of the file gives them
	for _, row := range publishedRows(t, "printed.txt") {
		f := mustLoad(t, row[0])
		v := numbers(t, []string{row[2], row[3], row[5], row[6]})
		T, rho, want, tol := v[0], v[1], v[2], v[3]
		if row[1] != "given" {
			s, err := f.saturationAt(T)
			if err != nil {
				t.Errorf("%s saturationAt(%g): %v", row[0], T, err)
				continue
			}
			rho = s.rhoLiq
			if row[1] == "vapour" {
				rho = s.rhoVap
			}
		} else if row[4] != "p" {
			tol = math.Max(tol, caloricTol[row[0]]*want)
		}
		pt := f.pointAt(T, rho)
		tau, del := f.eq.reduceT/T, rho/f.eq.reduceRho
		cv := -(f.eq.ideal.at(tau, del).tt + f.eq.residualAt(tau, del).tt) * f.eq.gasConstant
		got, ok := map[string]float64{"p": pt.p, "rho": pt.rho, "h": pt.h, "s": pt.s, "cp": pt.cp, "w": pt.w,
			"cp-molar": pt.cp * f.eq.molarMass, "cv-molar": cv}[row[4]]
		if !ok {
			t.Fatalf("unknown property %q", row[4])
		}
		near(t, strings.Join(row[:5], " "), got, want, 1, tol)
	}
}

func TestHandbookFromMemory(t *testing.T) {
	for _, row := range publishedRows(t, "handbook.txt") {
		f := mustLookup(t, row[0])
		v := numbers(t, []string{row[2], row[4], row[5]})
		var got float64
		switch row[3] {
		case "T":
			s, err := f.SaturationAtPressure(quantity.Pressure(v[0]))
			if err != nil {
				t.Fatal(err)
			}
			got = float64(s.BubbleTemp)
			if row[1] == "vapour" {
				got = float64(s.DewTemp)
			}
		case "p":
			s, err := f.SaturationAtTemp(quantity.Temperature(v[0]))
			if err != nil {
				t.Fatal(err)
			}
			got = float64(s.BubblePressure)
		}
		near(t, strings.Join(row[:4], " "), got, v[1], 1, v[2])
	}
}
