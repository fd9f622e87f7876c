package calc

import (
	"errors"
	"fmt"
	"math"

	"rung/internal/moistair"
	"rung/internal/quantity"
)

func airCalculators() []Calculator {
	return []Calculator{moistAir(), airMixing(), outdoorAirShare(), temperatureSplit(), capacityDelivered(), airflowByRise(), heatPumpOutput(),
		balancePoint(), externalStatic(), fanLaw(), ventilationRate()}
}

// enthalpyIP returns the enthalpy of moist air as tables in US units give it,
// in J/kg of dry air above dry air at 0 °F and liquid water at 32 °F. It
// differs from the SI equation by the rounding of its coefficients too.
//
// published: ASHRAE Handbook of Fundamentals 2017, chapter 1, eq. 30 (I-P):
// h = 0.240 t + W (1061 + 0.444 t) in Btu/lb and °F.
func enthalpyIP(dryBulb quantity.Temperature, w quantity.HumidityRatio) float64 {
	t := inFahrenheit(float64(dryBulb))
	return mustSI(0.240*t+float64(w)*(1061+0.444*t), quantity.DimSpecificEnthalpy, "Btu/lb")
}

func moistAir() Calculator {
	return Calculator{
		Name:    "moist-air",
		About:   "State of moist air from any two of its properties that fix it.",
		Source:  "published: ASHRAE Handbook of Fundamentals 2017, chapter 1, see package moistair",
		Fields:  append(airFields(""), pressureFields()...),
		Results: airResults(""),
		run: func(in Values) (Values, error) {
			p, err := airPressure(in)
			if err != nil {
				return nil, err
			}
			s, err := airState(in, "", p)
			if err != nil {
				return nil, err
			}
			out := Values{}
			addAir(out, "", s)
			return out, nil
		},
	}
}

func airMixing() Calculator {
	fields := []Field{
		{Name: "return_airflow", Dim: quantity.DimVolumeFlow, Min: 0, Max: 50, About: "measured at the state of the return air"},
		{Name: "outdoor_airflow", Dim: quantity.DimVolumeFlow, Min: 0, Max: 50, About: "measured at the state of the outdoor air"},
	}
	fields = append(fields, airFields("return_")...)
	fields = append(fields, airFields("outdoor_")...)
	return Calculator{
		Name: "air-mixing",
		About: "Return and outdoor air mixed. With the dry bulb alone of both, the dry bulb of the mix; " +
			"with two properties of both, all of it.",
		Source:  "published: balance of dry air, water and energy, ASHRAE Handbook of Fundamentals 2017, chapter 1, see package moistair",
		Example: `{"return_airflow":"1000 CFM","return_dry_bulb":"75 F","return_relative_humidity":"50 %","outdoor_airflow":"200 CFM","outdoor_dry_bulb":"95 F","outdoor_wet_bulb":"76 F"}`,
		Fields:  append(fields, pressureFields()...),
		Results: append(airResults(""),
			Field{Name: "outdoor_share", Dim: quantity.DimRatio, About: "of the mass of dry air"},
			Field{Name: "airflow", Dim: quantity.DimVolumeFlow, About: "of the mix, at its own state"},
			Field{Name: "warnings", Text: true}),
		run: runAirMixing,
	}
}

func runAirMixing(in Values) (Values, error) {
	p, err := airPressure(in)
	if err != nil {
		return nil, err
	}
	dryOnly := len(airKnown(in, "return_")) == 1 && len(airKnown(in, "outdoor_")) == 1 &&
		in.has("return_dry_bulb") && in.has("outdoor_dry_bulb")
	var streams [2]moistair.Stream
	for i, prefix := range []string{"return_", "outdoor_"} {
		air := airState
		if dryOnly {
			air = dryState
		}
		s, err := air(in, prefix, p)
		if err != nil {
			return nil, err
		}
		streams[i] = moistair.StreamOf(s, quantity.VolumeFlow(in.number(prefix+"airflow")))
	}
	if streams[0].DryAir+streams[1].DryAir <= 0 {
		return nil, invalid("return_airflow", "no air flows")
	}
	m, err := moistair.Mix(streams[0], streams[1])
	if err != nil {
		return nil, err
	}
	out := Values{
		"outdoor_share": float64(streams[1].DryAir / m.DryAir),
		"airflow":       float64(m.DryAir) * float64(m.Air.SpecificVolume),
	}
	if dryOnly {
		out["dry_bulb"] = float64(m.Air.DryBulb)
		out.warn("Humidity not given: the dry bulb of the mix alone, as if both were dry.")
		return out, nil
	}
	addAir(out, "", m.Air)
	if m.Fog > 0 {
		out.warn("The mix is more than saturated: fog, and water on cold metal.")
	}
	return out, nil
}

func outdoorAirShare() Calculator {
	return Calculator{
		Name:    "outdoor-air-share",
		About:   "Share of outdoor air in a mix from three dry bulbs. The further apart indoors and outdoors are, the surer the answer.",
		Source:  "practice: balance of temperatures, all air taken to hold the same heat; accuracy ±0.5 °C of each thermometer",
		Example: `{"return_dry_bulb":"72 F","outdoor_dry_bulb":"20 F","mixed_dry_bulb":"62 F"}`,
		Fields: []Field{
			{Name: "return_dry_bulb", Dim: quantity.DimTemperature, Min: 220, Max: 340},
			{Name: "outdoor_dry_bulb", Dim: quantity.DimTemperature, Min: 220, Max: 340},
			{Name: "mixed_dry_bulb", Dim: quantity.DimTemperature, Min: 220, Max: 340, About: "well mixed, several points averaged"},
		},
		Results: []Field{
			{Name: "outdoor_share", Dim: quantity.DimRatio},
			{Name: "outdoor_share_low", Dim: quantity.DimRatio},
			{Name: "outdoor_share_high", Dim: quantity.DimRatio},
			{Name: "warnings", Text: true},
		},
		run: func(in Values) (Values, error) {
			room, outdoor, mixed := in.number("return_dry_bulb"), in.number("outdoor_dry_bulb"), in.number("mixed_dry_bulb")
			apart := outdoor - room
			if math.Abs(apart) < 2*usualTempError {
				return nil, invalid("outdoor_dry_bulb", "as warm as the return air: the mix tells nothing")
			}
			share := (mixed - room) / apart
			if share < 0 || share > 1 {
				return nil, invalid("mixed_dry_bulb", "not between return and outdoor air: a reading is off, or heat comes in between")
			}
			// Errors of the three thermometers, added as squares.
			spread := usualTempError / math.Abs(apart) * math.Sqrt(1+square(share)+square(1-share))
			out := Values{"outdoor_share": share, "outdoor_share_low": max(0, share-spread), "outdoor_share_high": min(1, share+spread)}
			const coarse = 0.05
			if spread > coarse {
				out.warn("Indoors and outdoors are too near each other to know the share better than to " + percent(spread) + " of the whole flow.")
			}
			return out, nil
		},
	}
}

// nextToNone is the moisture of dry air: none at all has no dew point.
const nextToNone = 1e-6 // kg/kg

// dryState is air of the given dry bulb with next to no water.
func dryState(in Values, prefix string, p quantity.Pressure) (moistair.State, error) {
	s, err := moistair.From(moistair.DryBulbIs(in.temperature(prefix+"dry_bulb")), moistair.HumidityRatioIs(nextToNone), p)
	return s, airError(err, prefix, nil)
}

func temperatureSplit() Calculator {
	return Calculator{
		Name: "temperature-split",
		About: "Return minus supply dry bulb, and what a healthy air conditioner would show in this air: " +
			"before the heat of the blower, which takes about 1 °C off. Measure after 15 minutes of steady running.",
		Source: "published: regression of the California Title 24 compliance model, as coded in an open-source library of air-conditioner models; " +
			"window of ±3 °F: California Residential Appendix RA3.2, 2008",
		Fields: []Field{
			{Name: "return_dry_bulb", Dim: quantity.DimTemperature, Min: fahrenheit(20), Max: fahrenheit(130)},
			{Name: "supply_dry_bulb", Dim: quantity.DimTemperature, Min: fahrenheit(0), Max: fahrenheit(130)},
			{Name: "return_wet_bulb", Dim: quantity.DimTemperature, Optional: true, About: "for the expected split; 55 to 70 °F"},
			{Name: "outdoor_dry_bulb", Dim: quantity.DimTemperature, Optional: true, About: "for the expected split; 82 to 105 °F"},
			{Name: "airflow_per_capacity", Dim: quantity.DimRatio, Optional: true, Min: 0.5, Max: 1.25,
				About: "indoor airflow over 400 CFM per ton; 1 if not given"},
		},
		Results: []Field{
			{Name: "temperature_split", Dim: quantity.DimTempDiff},
			{Name: "expected_split", Dim: quantity.DimTempDiff, About: "where the air is within the range of the regression"},
			{Name: "difference", Dim: quantity.DimTempDiff, About: "measured minus expected"},
			{Name: "warning", Text: true},
		},
		run: runTemperatureSplit,
	}
}

func runTemperatureSplit(in Values) (Values, error) {
	split := in.temperature("return_dry_bulb").Sub(in.temperature("supply_dry_bulb"))
	out := Values{"temperature_split": float64(split)}
	if split < 0 {
		out.warnOnce("the supply is warmer than the return: not cooling, or the two readings are swapped")
	}
	if !in.has("return_wet_bulb") || !in.has("outdoor_dry_bulb") {
		return out, nil
	}
	if in.number("return_wet_bulb") > in.number("return_dry_bulb") {
		return nil, invalid("return_wet_bulb", "a wet bulb is never above the dry bulb; swapped, or the wick is dry")
	}
	air := splitAir{
		dryBulb: inFahrenheit(in.number("return_dry_bulb")),
		wetBulb: inFahrenheit(in.number("return_wet_bulb")),
		outdoor: inFahrenheit(in.number("outdoor_dry_bulb")),
		airflow: 400 * in.fieldOr("airflow_per_capacity", 1), // CFM per ton
	}
	expected, err := air.coilDrop()
	var outside *quantity.RangeError
	if errors.As(err, &outside) {
		// The split as measured stands; only the comparison is not to be had.
		out.warnOnce(fmt.Sprintf("no expected split: %s %.4g %s is outside %.4g to %.4g, for which it is known",
			outside.Name, outside.Value, outside.Unit, outside.Min, outside.Max))
		return out, nil
	}
	if err != nil {
		return nil, err
	}
	out["expected_split"] = expected * fahrenheitDegree
	out["difference"] = float64(split) - expected*fahrenheitDegree
	warnOfSplit(out)
	return out, nil
}

// warnOnce sets the one warning of an answer that has room for one.
func (v Values) warnOnce(text string) {
	if old := v.word("warning"); old != "" {
		text = old + "; " + text
	}
	v["warning"] = text
}

// warnOfSplit says what a split far from the expected one is a reason to look at.
//
// published: California Residential Appendix RA3.2, 2008: ±3 °F; practice: the
// heat of the blower, about 1 K, and what the sides mean
func warnOfSplit(out Values) {
	const blower = 1.0 // K
	window := 3 * fahrenheitDegree
	switch d := out.number("difference") + blower; {
	case d > window:
		out.warnOnce("split above expected: low airflow is the first thing to look at, filter, coil and blower, before any thought of charge")
	case d < -window:
		out.warnOnce("split below expected: low capacity, much airflow or a system not settled; measure the airflow before judging charge")
	}
}
