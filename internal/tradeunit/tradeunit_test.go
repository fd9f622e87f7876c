package tradeunit

import (
	"encoding/json"
	"errors"
	"math"
	"testing"

	"rung/internal/quantity"
)

const seaLevel = quantity.Pressure(101325)

// published: NIST SP 811 (2008), appendix B.8 factors, to their printed digits;
// temperatures and gauge zero by definition.
func TestParse(t *testing.T) {
	for _, c := range []struct {
		text     string
		dim      quantity.Dimension
		fallback string
		si, tol  float64
	}{
		{"32 °F", quantity.DimTemperature, "", 273.15, 1e-12},
		{"-40F", quantity.DimTemperature, "", 233.15, 1e-12},
		{"-40 C", quantity.DimTemperature, "", 233.15, 1e-12},
		{"18 F", quantity.DimTempDiff, "", 10, 1e-12},
		{"0 psig", quantity.DimPressure, "", 101325, 1e-9},
		{"118", quantity.DimPressure, "psig", 118*6894.757 + 101325, 0.1},
		{"300 kPa", quantity.DimPressure, "", 3e5, 1e-9},
		{"1 in. w.c.", quantity.DimPressureDiff, "", 249.0889, 1e-4},
		{"3 ton", quantity.DimPower, "", 3 * 3516.853, 2e-3},
		{"1 hp", quantity.DimPower, "", 745.6999, 1e-4},
		{"65 uF", quantity.DimCapacitance, "", 65e-6, 1e-18},
		{"5µF", quantity.DimCapacitance, "", 5e-6, 1e-18},
		{"1200 cfm", quantity.DimVolumeFlow, "", 1200 * 4.719474e-4, 1e-6},
		{"1e3 ohm", quantity.DimResistance, "", 1000, 0},
		{"2.5", quantity.DimRatio, "%", 0.025, 1e-15},
	} {
		a, err := Parse(c.text, c.dim, c.fallback)
		if err != nil {
			t.Errorf("Parse(%q) = %v", c.text, err)
			continue
		}
		if got := a.SI(seaLevel); math.Abs(got-c.si) > c.tol {
			t.Errorf("Parse(%q) = %v, want %v ± %v SI", c.text, got, c.si, c.tol)
		}
	}
}

func TestParseErrors(t *testing.T) {
	for _, c := range []struct {
		text string
		dim  quantity.Dimension
		want error
	}{
		{"", quantity.DimVoltage, ErrNumber},
		{"abc V", quantity.DimVoltage, ErrNumber},
		{"1.2.3 V", quantity.DimVoltage, ErrNumber},
		{"1e999 V", quantity.DimVoltage, ErrNumber},
		{"24", quantity.DimVoltage, ErrUnit},
		{"24 furlong", quantity.DimVoltage, ErrUnit},
		{"24 psig", quantity.DimVoltage, ErrDimension},
	} {
		if _, err := Parse(c.text, c.dim, ""); !errors.Is(err, c.want) {
			t.Errorf("Parse(%q) = %v, want %v", c.text, err, c.want)
		}
	}
}

func TestUnitsComeBack(t *testing.T) {
	for _, u := range units {
		for _, x := range []float64{-3, 0, 1, 1234.5} {
			if got := u.Of(u.SI(x, seaLevel), seaLevel); math.Abs(got-x) > 1e-9*math.Max(1, math.Abs(x)) {
				t.Errorf("%s: Of(SI(%v)) = %v", u.Symbol, x, got)
			}
		}
		if got, err := Lookup(u.Dim, u.ASCII()); err != nil || got.Scale != u.Scale {
			t.Errorf("Lookup(%s, %s) = %v, %v", u.Dim, u.ASCII(), got, err)
		}
		if got, err := Lookup(u.Dim, u.Symbol); err != nil || got.Scale != u.Scale {
			t.Errorf("Lookup(%s, %s) = %v, %v", u.Dim, u.Symbol, got, err)
		}
	}
}

func TestRaw(t *testing.T) {
	for in, want := range map[string]Raw{
		`"118 psig"`:                  "118 psig",
		`{"value":118,"unit":"psig"}`: "118 psig",
		`{"value":4.90,"unit":"uF"}`:  "4.90 uF",
	} {
		var got Raw
		if err := json.Unmarshal([]byte(in), &got); err != nil || got != want {
			t.Errorf("Unmarshal(%s) = %q, %v, want %q", in, got, err, want)
		}
	}
	for _, bad := range []string{`118`, `{"unit":"psig"}`, `[]`, `{}`} {
		var got Raw
		if err := json.Unmarshal([]byte(bad), &got); err == nil {
			t.Errorf("Unmarshal(%s) = %q, want an error", bad, got)
		}
	}
}

func FuzzParse(f *testing.F) {
	f.Add("118 psig")
	f.Add("-4.5e1 kPa(g)")
	f.Add(".")
	f.Fuzz(func(t *testing.T, text string) {
		a, err := Parse(text, quantity.DimPressure, "psig")
		if err != nil {
			return
		}
		again, err := Parse(a.String(), quantity.DimPressure, "")
		if err != nil || again.Number != a.Number || again.Unit.Symbol != a.Unit.Symbol {
			t.Errorf("Parse(%q) = %v; printed and parsed again: %v, %v", text, a, again, err)
		}
	})
}
