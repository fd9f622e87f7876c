package calc

import (
	"fmt"
	"math"
	"strings"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

func standingPressure() Calculator {
	return Calculator{
		Name:  "standing-pressure",
		Title: "Standing pressure of a system at rest",
		About: "Pressure with the compressor off and both sides equal, against saturation at the coldest spot. It tells whether liquid is left, " +
			"and whether something else than this refrigerant is in it. It never tells how much charge there is: one ounce of liquid and a full charge stand alike.",
		Source: "published: saturation by the equation of state, see package refrigerant; " +
			"practice: off for half an hour or more, gauge to 2 psi or 1 %, thermometer to 2 °F",
		Caution: "Lose no refrigerant with the hoses. A system at or near zero is open somewhere: do not start its compressor. " +
			"Air in a system does not come out by venting: recover, find the leak, evacuate, weigh in.",
		Example: `{"refrigerant":"R-410A","pressure":"200 psig","outdoor_temperature":"75 F","indoor_temperature":"70 F","time_off":"60 min"}`,
		Fields: []Field{
			refrigerantField(),
			{Name: "pressure", Dim: quantity.DimPressure, Min: 1e3, Max: 1e7, About: "at rest, equal on both sides"},
			{Name: "outdoor_temperature", Dim: quantity.DimTemperature, Min: fahrenheit(-40), Max: fahrenheit(140), About: "of the air at the outdoor coil, in its shade"},
			{Name: "indoor_temperature", Dim: quantity.DimTemperature, Min: fahrenheit(-40), Max: fahrenheit(140), About: "of the air at the indoor coil: an attic is not the room"},
			{Name: "time_off", Dim: quantity.DimTime, Optional: true, Min: 0, Max: 1e9, About: "since the compressor stopped"},
			{Name: "gauge_accuracy", Dim: quantity.DimPressureDiff, USUnit: "psi", Optional: true, Min: 0, Max: 2e5, UsualSI: "14 kPa", About: "2 psi or 1 % of the reading, the larger, if not given"},
			{Name: "thermometer_accuracy", Dim: quantity.DimTempDiff, Optional: true, Min: 0, Max: 10, UsualSI: "1 K", About: "2 °F if not given"},
			equationField, elevationField, ambientField,
		},
		Results: []Field{
			{Name: "verdict", Text: true, About: "empty, no-liquid, low-in-doubt, liquid-present, high-in-doubt or too-high"},
			{Name: "note", Text: true},
			{Name: "coldest_temperature", Dim: quantity.DimTemperature},
			{Name: "expected_lowest", Dim: quantity.DimPressure, About: "with liquid, all that instruments and glide leave open"},
			{Name: "expected_highest", Dim: quantity.DimPressure},
			{Name: "saturation_temperature", Dim: quantity.DimTemperature, About: "of this refrigerant at the pressure, halfway between bubble and dew"},
			{Name: "difference", Dim: quantity.DimPressureDiff, USUnit: "psi", About: "from what is expected halfway between bubble and dew"},
			{Name: "also_fits", Text: true, About: "other refrigerants that would stand at this pressure too"},
			warningsField,
		},
		run: runStandingPressure,
	}
}

// standing is a system at rest and what it could show.
type standing struct {
	fluid       *refrigerant.Fluid
	p, ambient  quantity.Pressure
	cold, warm  quantity.Temperature
	gauge       quantity.PressureDiff
	thermometer quantity.TempDiff
	low, high   quantity.Pressure // with liquid at the coldest spot
	highest     quantity.Pressure // with liquid still at the warmer coil
	dew, bubble quantity.Pressure // at the coldest spot
}

func runStandingPressure(in Values) (Values, error) {
	f, err := fluidOf(in)
	if err != nil {
		return nil, err
	}
	s := standing{fluid: f, p: in.pressure("pressure"), ambient: Ambient(in)}
	outdoor, indoor := in.temperature("outdoor_temperature"), in.temperature("indoor_temperature")
	s.cold, s.warm = min(outdoor, indoor), max(outdoor, indoor)
	const gaugeShare = 0.01 // practice: of the reading, a class 1 gauge
	reading := math.Abs(float64(s.p - s.ambient))
	s.gauge = quantity.PressureDiff(in.or("gauge_accuracy", math.Max(mustSI(2, quantity.DimPressureDiff, "psi"), gaugeShare*reading)))
	s.thermometer = quantity.TempDiff(in.or("thermometer_accuracy", 2*fahrenheitDegree))
	if err := s.bounds(); err != nil {
		return nil, err
	}
	verdict, note := s.verdict()
	out := Values{
		"verdict": verdict, "note": note, "coldest_temperature": float64(s.cold),
		"expected_lowest": float64(s.low), "expected_highest": float64(s.high),
		"difference": float64(s.p) - float64(s.dew+s.bubble)/2,
	}
	if at, err := f.SaturationAtPressure(s.p); err == nil {
		out["saturation_temperature"] = float64(at.BubbleTemp+at.DewTemp) / 2
	}
	if verdict == "liquid-present" || verdict == "too-high" {
		if fits := s.alsoFits(); len(fits) > 0 {
			out["also_fits"] = strings.Join(fits, ", ")
		}
	}
	return out.withDoubts(s.doubts(in)...), nil
}

// bounds sets the pressures that instruments and glide leave open.
//
// Liquid gathers at the coldest spot and sets the pressure. Nearly all charge
// liquid, that is the bubble pressure there; a drop of it, the dew pressure.
func (s *standing) bounds() error {
	at := func(t quantity.Temperature, d quantity.TempDiff) (refrigerant.Saturation, error) {
		x, err := s.fluid.SaturationAtTemp(t.Add(d))
		return x, inField(err, "outdoor_temperature")
	}
	here, err := at(s.cold, 0)
	if err != nil {
		return err
	}
	below, err := at(s.cold, -s.thermometer)
	if err != nil {
		return err
	}
	above, err := at(s.cold, s.thermometer)
	if err != nil {
		return err
	}
	warm, err := at(s.warm, s.thermometer)
	if err != nil {
		return err
	}
	s.dew, s.bubble = here.DewPressure, here.BubblePressure
	s.low = below.DewPressure - quantity.Pressure(s.gauge)
	s.high = above.BubblePressure.Add(s.gauge)
	s.highest = warm.BubblePressure.Add(s.gauge)
	return nil
}

// hiddenCold is how much colder than either air some spot of the circuit may
// be: a line in the ground, a coil that has just run. practice: judgement.
var hiddenCold = quantity.TempDiff(10 * fahrenheitDegree)

// verdict names what the pressure says, and puts it in words.
func (s *standing) verdict() (word, note string) {
	name := s.fluid.Name()
	hidden := s.low
	if x, err := s.fluid.SaturationAtTemp(s.cold.Add(-s.thermometer - hiddenCold)); err == nil {
		hidden = x.DewPressure - quantity.Pressure(s.gauge)
	}
	switch {
	case s.p <= s.ambient.Add(s.gauge) && s.p < s.low: // some refrigerants of blends stand below the air
		return "empty", "No pressure to speak of: the charge is gone, and air may be in. Do not start the compressor. Find the leak, repair, pressure-test, evacuate, weigh in."
	case s.p < hidden:
		return "no-liquid", "Well below saturation at the coldest spot: only vapour is left, most of the charge is gone. Or the refrigerant is not " + name + ", or a temperature is not that of the coil."
	case s.p < s.low:
		return "low-in-doubt", "A little below saturation at the colder air: some spot may be colder than either coil, or it has run a short while ago; or the last liquid has just gone. Wait, measure the coils themselves, read again."
	case s.p <= s.high:
		return "liquid-present", "As saturated " + name + " at the coldest spot: there is liquid in it. How much, this does not say: a nearly empty and an overfilled system stand alike."
	case s.p <= s.highest:
		return "high-in-doubt", "Between saturation at the colder and at the warmer coil: not yet settled, or liquid still in the warmer one. Wait and read again; if it stays, think of air or nitrogen in the system."
	}
	return "too-high", "Above saturation at any spot: air or nitrogen with it, another refrigerant or a blend shifted by a leak, or sun on a coil. Shade it, wait, measure the coils themselves; if it stays, recover, evacuate and weigh in what the nameplate says."
}

// alsoFits names the other refrigerants whose liquid at the coldest spot would
// stand at this pressure, within what instruments leave open.
func (s *standing) alsoFits() []string {
	var names []string
	for _, name := range refrigerant.Names() {
		f, err := refrigerant.Lookup(name)
		if err != nil || name == s.fluid.Name() {
			continue
		}
		other := *s
		other.fluid = f
		if other.bounds() == nil && other.low <= s.p && s.p <= other.high {
			names = append(names, name)
		}
	}
	return names
}

// doubts says what makes the comparison unsure.
func (s *standing) doubts(in Values) []string {
	list := doubtOf(s.fluid)
	const settled = 1800 // s. practice: half an hour, longer with a large charge
	if in.has("time_off") && in.number("time_off") < settled {
		list = append(list, "Off for less than half an hour: pressure and coils have not settled.")
	}
	const wide = 15 // °F; practice: judgement
	if float64(s.warm.Sub(s.cold)) > wide*fahrenheitDegree {
		list = append(list, fmt.Sprintf("The coils differ by %s: it takes long for all liquid to reach the colder one, and the pressure may stand above until it has.", bothSteps(float64(s.warm.Sub(s.cold)))))
	}
	if g := float64(s.bubble-s.dew) / float64(s.bubble); g > 0.03 {
		list = append(list, fmt.Sprintf("%s has glide: between bubble and dew pressure lie %.0f %%, so a little air hides in it.", s.fluid.Name(), 100*g))
	}
	return list
}
