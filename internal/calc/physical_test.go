package calc

import (
	"encoding/json"
	"fmt"
	"math"
	"math/rand/v2"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// physical are the calculators of air, water and fuel.
func physical() []Calculator {
	var list []Calculator
	for _, c := range slices.Concat(airCalculators(), waterCalculators(), fuelCalculators()) {
		done, _ := Lookup(c.Name) // with its example
		list = append(list, done)
	}
	return list
}

// An answer holds no missing number, in either system of units.
func TestAnswersAreWhole(t *testing.T) {
	for _, c := range physical() {
		for _, units := range []tradeunit.System{tradeunit.US, tradeunit.SI} {
			answer, good := run(t, c.Name, c.Example, units)
			if !good {
				t.Errorf("%s: %v", c.Name, answer)
			}
			for field, x := range answer {
				if x == nil {
					t.Errorf("%s: %s is no number", c.Name, field)
				}
			}
		}
	}
}

// Nothing from memory is shown without saying so.
func TestMemoryIsMarked(t *testing.T) {
	for name, doc := range map[string]string{
		"glycol":     `{"fluid":"ethylene-glycol","mass_share":"40 %"}`,
		"water-heat": `{"flow":"6 gpm","supply_temperature":"180 F","return_temperature":"160 F","fluid":"propylene-glycol","volume_share":"30 %"}`,
		"fuel":       `{"fuel":"fuel-oil"}`,
		"flue-loss":  `{"fuel":"fuel-oil","oxygen":"5 %","flue_temperature":"500 F","air_temperature":"70 F"}`,
	} {
		answer, _ := run(t, name, doc, tradeunit.US)
		if source, _ := answer["source"].(string); !strings.Contains(source, "memory") || !strings.Contains(source, "±") {
			t.Errorf("%s says %q, want memory and an uncertainty", name, source)
		}
	}
}

func TestWarnings(t *testing.T) {
	for _, c := range []struct{ name, doc, says string }{
		{"co-air-free", `{"carbon_monoxide":"200 ppm","oxygen":"6 %"}`, "100 ppm"},
		{"co-air-free", `{"carbon_monoxide":"200 ppm","oxygen":"13 %"}`, "400 ppm"},
		{"co-air-free", `{"carbon_monoxide":"20 ppm","oxygen":"6 %"}`, ""},
		{"flue-loss", `{"fuel":"methane","oxygen":"1 %","flue_temperature":"400 F","air_temperature":"70 F"}`, "carbon monoxide"},
		{"flue-loss", `{"fuel":"methane","oxygen":"6 %","flue_temperature":"100 F","air_temperature":"70 F"}`, "condensing equipment"},
		{"flue-loss", `{"fuel":"methane","oxygen":"12 %","flue_temperature":"400 F","air_temperature":"70 F"}`, "excess air"},
		{"gas-input", `{"dial_volume":"2 ft3","time":"60 s","rated_input":"100000 Btu/h"}`, "Overfired"},
		{"gas-input", `{"dial_volume":"0.5 ft3","time":"9 s"}`, "count more turns"},
		{"temperature-split", `{"return_dry_bulb":"75 F","supply_dry_bulb":"66 F","return_wet_bulb":"62 F","outdoor_dry_bulb":"90 F"}`, "below expected"},
		{"temperature-split", `{"return_dry_bulb":"75 F","supply_dry_bulb":"45 F","return_wet_bulb":"62 F","outdoor_dry_bulb":"90 F"}`, "low airflow"},
		{"temperature-split", `{"return_dry_bulb":"75 F","supply_dry_bulb":"57 F","return_wet_bulb":"62 F","outdoor_dry_bulb":"70 F"}`, "no expected split: outdoor_dry_bulb 70 °F is outside 82 to 105"},
		{"airflow-by-rise", `{"output":"20000 Btu/h","temperature_rise":"10 F"}`, "thermometers alone"},
		{"capacity-delivered", `{"airflow":"400 CFM","entering_dry_bulb":"70 F","entering_wet_bulb":"60 F","leaving_dry_bulb":"80 F","leaving_wet_bulb":"67 F"}`, "not cooling"},
		{"water-heat", `{"flow":"6 gpm","temperature_difference":"3 F"}`, "hard to measure"},
		{"static-fill", `{"height":"50 ft","relief_setting":"30 psi"}`, "never plug"},
		{"air-mixing", `{"return_airflow":"100 CFM","return_dry_bulb":"90 F","return_relative_humidity":"98 %","outdoor_airflow":"100 CFM","outdoor_dry_bulb":"10 F","outdoor_relative_humidity":"90 %"}`, "fog"},
	} {
		answer, good := run(t, c.name, c.doc, tradeunit.US)
		warning, _ := answer["warning"].(string)
		list, _ := answer["warnings"].([]any)
		warning += fmt.Sprint(list...)
		if !good || !strings.Contains(warning, c.says) || c.says == "" && warning != "" {
			t.Errorf("%s %s: %v, want a warning saying %q", c.name, c.doc, answer, c.says)
		}
	}
}

func TestPhysicalErrors(t *testing.T) {
	for _, c := range []struct {
		name, doc   string
		kind        Kind
		field, says string
	}{
		{"moist-air", `{"dry_bulb":"80 F"}`, Invalid, "wet_bulb", "two properties"},
		{"moist-air", `{"dry_bulb":"80 F","wet_bulb":"67 F","dew_point":"60 F"}`, Invalid, "dew_point", "leave one"},
		{"moist-air", `{"wet_bulb":"67 F","enthalpy":"31 Btu/lb"}`, Invalid, "enthalpy", "parallel"},
		{"moist-air", `{"dew_point":"60 F","humidity_ratio":"77 gr/lb"}`, Invalid, "humidity_ratio", "each follows"},
		{"moist-air", `{"dry_bulb":"70 F","wet_bulb":"75 F"}`, OutOfRange, "wet_bulb", "75.0 °F (23.9 °C) is outside"},
		{"capacity-delivered", `{"airflow":"1200 CFM","entering_dry_bulb":"80 F","entering_wet_bulb":"67 F","leaving_dry_bulb":"55 F","leaving_wet_bulb":"60 F"}`, OutOfRange, "leaving_wet_bulb", "wick"},
		{"air-mixing", `{"return_airflow":"0 CFM","return_dry_bulb":"75 F","outdoor_airflow":"0 CFM","outdoor_dry_bulb":"95 F"}`, Invalid, "return_airflow", "no air"},
		{"airflow-by-rise", `{"voltage":"240 V","temperature_rise":"30 F"}`, Invalid, "current", "missing"},
		{"airflow-by-rise", `{"output":"30000 Btu/h","supply_temperature":"70 F","return_temperature":"75 F"}`, OutOfRange, "temperature_rise", "outside"},
		{"water", `{"temperature":"250 F","pressure":"0 psig"}`, OutOfRange, "pressure", "outside"},
		{"water-heat", `{"flow":"6 gpm","temperature_difference":"20 F","fluid":"propylene-glycol","mass_share":"30 %"}`, Invalid, "mean_temperature", "missing"},
		{"water-heat", `{"flow":"6 gpm","temperature_difference":"20 F","mean_temperature":"140 F","mass_share":"30 %"}`, Invalid, "fluid", "which glycol"},
		{"glycol", `{"fluid":"propylene-glycol","mass_share":"30 %","temperature":"-20 F"}`, OutOfRange, "temperature", "outside"},
		{"expansion-tank", `{"system_volume":"40 gal","hot_temperature":"180 F","fill_pressure":"30 psig","highest_pressure":"12 psig"}`, OutOfRange, "highest_pressure", "outside"},
		{"flue-loss", `{"fuel":"propane","carbon_dioxide":"15 %","flue_temperature":"400 F","air_temperature":"70 F"}`, OutOfRange, "carbon_dioxide", "outside"},
		{"flue-loss", `{"fuel":"coal","oxygen":"5 %","flue_temperature":"400 F","air_temperature":"70 F"}`, Invalid, "fuel", "none of"},
		{"co-air-free", `{"carbon_monoxide":"60 ppm","oxygen":"20.9 %"}`, OutOfRange, "oxygen", "outside"},
	} {
		answer, good := run(t, c.name, c.doc, tradeunit.US)
		e, _ := answer["error"].(map[string]any)
		if good || e == nil {
			t.Errorf("%s %s: %v, want an error", c.name, c.doc, answer)
			continue
		}
		field, _ := e["field"].(string)
		if e["kind"] != string(c.kind) || field != c.field || !strings.Contains(e["message"].(string), c.says) {
			t.Errorf("%s %s: error %v, want %s at %q saying %q", c.name, c.doc, e, c.kind, c.field, c.says)
		}
	}
}

// A state answered in US units comes back from any two of its properties.
func TestMoistAirComesBack(t *testing.T) {
	first, _ := run(t, "moist-air", `{"dry_bulb":"80 F","wet_bulb":"67 F","elevation":"5280 ft"}`, tradeunit.US)
	for _, pair := range [][2]string{{"wet_bulb", "relative_humidity"}, {"dew_point", "relative_humidity"}, {"humidity_ratio", "enthalpy"},
		{"wet_bulb", "humidity_ratio"}, {"enthalpy", "relative_humidity"}, {"dry_bulb", "specific_volume"}, {"dry_bulb", "enthalpy"}} {
		doc, err := json.Marshal(map[string]any{pair[0]: first[pair[0]], pair[1]: first[pair[1]], "elevation": "5280 ft"})
		if err != nil {
			t.Fatal(err)
		}
		again, good := run(t, "moist-air", string(doc), tradeunit.US)
		// 0.15 °F: the enthalpy equations in US units and SI are rounded apart.
		if !good || math.Abs(value(t, again, "dry_bulb")-80) > 0.15 || math.Abs(value(t, again, "wet_bulb")-67) > 0.05 {
			t.Errorf("from %s: %v", doc, again)
		}
	}
}

// The range of the capacity widens with worse instruments and holds the answer.
func TestCapacityRange(t *testing.T) {
	const doc = `{"airflow":"1200 CFM","entering_dry_bulb":"80 F","entering_wet_bulb":"67 F","leaving_dry_bulb":"57 F","leaving_wet_bulb":"55.5 F"`
	width := func(more string) float64 {
		answer, good := run(t, "capacity-delivered", doc+more+"}", tradeunit.US)
		if !good {
			t.Fatal(answer)
		}
		lo, mid, hi := value(t, answer, "total_capacity_low"), value(t, answer, "total_capacity"), value(t, answer, "total_capacity_high")
		if !(lo <= mid && mid <= hi) {
			t.Errorf("%v, %v, %v out of order", lo, mid, hi)
		}
		return (hi - lo) / mid / 2
	}
	perfect := width(`,"airflow_accuracy":0,"temperature_accuracy":"0 K"`)
	fine := width(`,"airflow_accuracy":"5 %","temperature_accuracy":"0.2 K"`)
	usual := width("")
	if !(perfect < 1e-12 && 0.05 < fine && fine < usual && usual < 0.2) {
		t.Errorf("ranges of ±%v, ±%v and ±%v", perfect, fine, usual)
	}
}

// Within a third of an example every answer is whole, or the error is one of the
// user's. Seed 1.
func TestAroundTheExamples(t *testing.T) {
	random := rand.New(rand.NewPCG(1, 1))
	for _, c := range physical() {
		for range 60 {
			var doc map[string]any
			if err := json.Unmarshal([]byte(c.Example), &doc); err != nil {
				t.Fatal(err)
			}
			for name, x := range doc {
				text, _ := x.(string)
				number, unit, _ := strings.Cut(text, " ")
				if v, err := strconv.ParseFloat(number, 64); err == nil && unit != "" {
					doc[name] = map[string]any{"value": v * (0.67 + 0.67*random.Float64()), "unit": unit}
				}
			}
			checkWhole(t, c, doc)
		}
	}
}

// checkWhole fails on an answer with a hole and on an error of our own.
func checkWhole(t *testing.T, c Calculator, doc map[string]any) {
	t.Helper()
	text, err := json.Marshal(doc)
	if err != nil {
		t.Fatal(err)
	}
	answer, good := run(t, c.Name, string(text), tradeunit.US)
	if !good {
		if e := answer["error"].(map[string]any); e["kind"] == string(Internal) || e["kind"] == string(NoConvergence) {
			t.Errorf("%s %s: %v", c.Name, text, e)
		}
		return
	}
	for field, x := range answer {
		if x == nil {
			t.Errorf("%s %s: %s is no number", c.Name, text, field)
		}
	}
}

// FuzzPhysical feeds numbers near and far and looks for an answer with a hole,
// or an error of our own.
func FuzzPhysical(f *testing.F) {
	f.Add(0, 75.0, 60.0, 1000.0)
	f.Add(3, 1e9, -1e9, 0.0)
	f.Fuzz(func(t *testing.T, which int, a, b, c float64) {
		list := physical()
		calculator := list[((which%len(list))+len(list))%len(list)]
		var doc map[string]any
		if err := json.Unmarshal([]byte(calculator.Example), &doc); err != nil {
			t.Fatal(err)
		}
		numbers := []float64{a, b, c}
		i := 0
		for _, field := range calculator.Fields {
			if _, given := doc[field.Name]; !given || field.Dim == quantity.DimNone {
				continue
			}
			x := numbers[i%len(numbers)]
			if math.IsNaN(x) || math.IsInf(x, 0) {
				return
			}
			doc[field.Name] = map[string]any{"value": x, "unit": tradeunit.US.Preferred(field.Dim).ASCII()}
			i++
		}
		checkWhole(t, calculator, doc)
	})
}
