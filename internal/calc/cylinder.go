package calc

import (
	"fmt"
	"slices"

	"rung/internal/num"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// waterDensity is that of the water by which the capacity of a cylinder is
// stamped, in kg/m³.
// published: water at 60 °F (15.6 °C), 999.0 kg/m³, any table of water.
const waterDensity = 999.0

func recoveryCylinder() Calculator {
	return Calculator{
		Name:  "recovery-cylinder",
		Title: "Recovery cylinder: how much may go in",
		About: "Refrigerant that fills a share of a cylinder with liquid, by the water capacity stamped on it. " +
			"Weigh while filling; the lowest of this, the maker's figure and the law is the limit.",
		Source: "memory: at most 80 % liquid by volume at 77 °F, 49 CFR and AHRI Guideline K; " +
			"published: liquid density by the equation of state, see package refrigerant",
		Caution: "An overfilled cylinder bursts when it warms. Scale under it, date stamp in force, rated for the pressure of this refrigerant; " +
			"never heat it, never refill a disposable one. Unknown or mixed refrigerant: fill to less.",
		Example: `{"refrigerant":"R-410A","water_capacity":"47.7 lb","tare":"28 lb","gross":"45 lb"}`,
		Fields: []Field{
			refrigerantField(),
			{Name: "water_capacity", Dim: quantity.DimMass, USUnit: "lb", Min: 0.5, Max: 2000, About: "stamped WC"},
			{Name: "fill_fraction", Dim: quantity.DimRatio, Optional: true, Min: 0.1, Max: 0.8, About: "of the volume; 80 % if not given"},
			{Name: "liquid_temperature", Dim: quantity.DimTemperature, Optional: true, UsualSI: "25 °C", About: "at which the share is counted; 77 °F if not given"},
			{Name: "tare", Dim: quantity.DimMass, USUnit: "lb", Optional: true, Min: 0.1, Max: 2000, About: "stamped TW"},
			{Name: "gross", Dim: quantity.DimMass, USUnit: "lb", Optional: true, Min: 0.1, Max: 4000, About: "on the scale now"},
		},
		Results: []Field{
			{Name: "most_refrigerant", Dim: quantity.DimMass, USUnit: "lb"},
			{Name: "most_gross", Dim: quantity.DimMass, USUnit: "lb", About: "on the scale when full"},
			{Name: "room_left", Dim: quantity.DimMass, USUnit: "lb"},
			{Name: "liquid_full_at", Dim: quantity.DimTemperature, About: "temperature at which so much would fill all of it with liquid; not given where the liquid ends before"},
			{Name: "specific_gravity", Dim: quantity.DimRatio, USUnit: "1"},
			warningsField,
		},
		run: runRecoveryCylinder,
	}
}

func runRecoveryCylinder(in Values) (Values, error) {
	f, err := refrigerant.Lookup(in.word("refrigerant"))
	if err != nil {
		return nil, err
	}
	s, err := f.SaturationAtTemp(quantity.Temperature(in.or("liquid_temperature", fahrenheit(77))))
	if err != nil {
		return nil, inField(err, "liquid_temperature")
	}
	fill := in.or("fill_fraction", 0.8)
	volume := in.number("water_capacity") / waterDensity
	most := volume * fill * float64(s.LiquidDensity)
	out := Values{"most_refrigerant": most, "specific_gravity": float64(s.LiquidDensity) / waterDensity}
	if t, ok := liquidFull(f, fill*float64(s.LiquidDensity)); ok {
		out["liquid_full_at"] = t
	}
	list := doubtOf(f)
	if in.has("tare") {
		out["most_gross"] = in.number("tare") + most
		if in.has("gross") {
			room := out.number("most_gross") - in.number("gross")
			out["room_left"] = room
			if room < 0 {
				list = append(list, "Overfilled: keep it cool and let the excess into an empty cylinder now.")
			}
			if in.number("gross") < in.number("tare") {
				list = append(list, "Lighter than its tare: the scale or the stamp is misread.")
			}
		}
	} else if in.has("gross") {
		return nil, invalid("tare", "missing: what is in the cylinder is the weight on the scale less the tare")
	}
	if w, ok := flammableDoubt(f); ok {
		list = append(list, w)
	}
	return out.withDoubts(list...), nil
}

// liquidFull returns the temperature in K at which liquid has the density in
// kg/m³.
func liquidFull(f *refrigerant.Fluid, density float64) (float64, bool) {
	lo, hi := f.SaturationRange()
	t, err := num.Root("liquid full", func(T float64) float64 {
		s, err := f.SaturationAtTemp(quantity.Temperature(T))
		if err != nil {
			return 0
		}
		return float64(s.LiquidDensity) - density
	}, float64(lo), float64(hi), 1e-3)
	return t, err == nil
}

// lowerLimit is the lower flammable limit in kg/m³.
//
// memory: ASHRAE 34 and UL/CSA 60335-2-40, tables of refrigerants; R-454B also
// by the figure of a contractor's training page for its charge without a room
// rule (published, read). The data sheet comes first.
var lowerLimit = map[string]float64{"R-32": 0.307, "R-454B": 0.296}

// flammableParts burn; a blend that holds some may.
var flammableParts = []string{"R-32", "R-143a", "R-1234yf", "R-1234ze(E)", "R-290", "R-600", "R-600a", "R-601a"}

// notFlammable are the blends with such parts that are classed as not
// flammable. memory: ASHRAE 34, class A1.
var notFlammable = []string{"R-410A", "R-407C", "R-404A", "R-422D", "R-427A", "R-438A", "R-448A"}

// flammableDoubt warns of a refrigerant that burns.
func flammableDoubt(f *refrigerant.Fluid) (string, bool) {
	if slices.Contains(notFlammable, f.Name()) {
		return "", false
	}
	for _, p := range f.Composition() {
		if slices.Contains(flammableParts, p.Refrigerant) {
			return f.Name() + " burns, or may burn: the charge is limited by the room and the listing of the equipment; the nameplate and local code say how much. Rated tools, no flame, ventilate, detect.", true
		}
	}
	return "", false
}

func flammableCharge() Calculator {
	return Calculator{
		Name:  "flammable-charge",
		Title: "A2L: charge below which no room rule applies",
		About: "The least of the charge steps for mildly flammable refrigerants: 6 m³ times the lower flammable limit. " +
			"Above it the room, the sensor and the listing decide; nameplate, instructions and local code come first.",
		Source: "memory: UL/CSA 60335-2-40, 4th edition, and ASHRAE 15.2: m1 = 6 m³ · LFL; " +
			"published: 3.91 lb of R-454B, a contractor's training page",
		Example: `{"refrigerant":"R-454B","charge":"3.5 lb"}`,
		Fields: []Field{
			eitherOf(refrigerantField()),
			{Name: "lower_flammable_limit", Dim: quantity.DimDensity, Optional: true, Either: true, Min: 0.01, Max: 2, About: "by the data sheet, 0.307 kg/m³; known for R-32 and R-454B"},
			{Name: "charge", Dim: quantity.DimMass, USUnit: "lb", Optional: true, Min: 0, Max: 100, About: "of the whole circuit, line set in it"},
		},
		Results: []Field{
			{Name: "first_step", Dim: quantity.DimMass, USUnit: "lb"},
			{Name: "below_first_step", Bool: true},
			{Name: "lower_flammable_limit", Dim: quantity.DimDensity},
			warningsField,
		},
		run: runFlammableCharge,
	}
}

func runFlammableCharge(in Values) (Values, error) {
	const volume = 6 // m³; memory: UL/CSA 60335-2-40, 4th edition
	lfl := in.number("lower_flammable_limit")
	if !in.has("lower_flammable_limit") {
		if !in.has("refrigerant") {
			return nil, invalid("lower_flammable_limit", "missing: give it, or the refrigerant")
		}
		f, err := refrigerant.Lookup(in.word("refrigerant"))
		if err != nil {
			return nil, err
		}
		known := false
		if lfl, known = lowerLimit[f.Name()]; !known {
			return nil, &Error{Kind: NotFound, Field: "lower_flammable_limit", Message: fmt.Sprintf("the limit of %s is not held here: take it from the data sheet", f.Name())}
		}
	}
	out := Values{"first_step": volume * lfl, "lower_flammable_limit": lfl}
	if in.has("charge") {
		below := in.number("charge") <= volume*lfl
		out["below_first_step"] = below
		if !below {
			out.withDoubts("Above the first step: smallest room, sensor and mitigation are prescribed by the listing of the equipment. Not a sum to be made here.")
		}
	}
	return out, nil
}
