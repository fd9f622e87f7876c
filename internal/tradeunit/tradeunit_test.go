package tradeunit

import (
	"encoding/json"
	"errors"
	"math"
	"strings"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

const seaLevel = quantity.Pressure(101325)

func TestPublishedUnits(t *testing.T) {
	for _, row := range published.Read(t, "units.txt").Rows {
		fallback := row.Text("fallback")
		if fallback == "-" {
			fallback = ""
		}
		dim := quantity.Dimension(row.Text("dimension"))
		a, err := Parse(row.Text("text"), dim, fallback)
		if err != nil {
			t.Errorf("%v: %v", row, err)
			continue
		}
		row.CheckAs(t, strings.TrimSpace(row.Text("text")+" "+fallback)+"["+SI.Preferred(dim).Symbol+"]", a.SI(seaLevel), row.Number(t, "value"), published.Within(row.Number(t, "tolerance")))
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

func TestPreferred(t *testing.T) {
	for _, u := range units {
		if si := SI.Preferred(u.Dim); si.SI(1, seaLevel) != 1 {
			t.Errorf("SI.Preferred(%s) = %s, want the base unit", u.Dim, si.Symbol)
		}
	}
	for dim, want := range map[quantity.Dimension]string{quantity.DimVoltage: "V", quantity.DimCurrent: "A",
		quantity.DimResistance: "Ω", quantity.DimPower: "W", quantity.DimTemperature: "K"} {
		if got := SI.Preferred(dim).Symbol; got != want {
			t.Errorf("SI.Preferred(%s) = %s, want %s", dim, got, want)
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
