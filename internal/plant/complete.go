package plant

import (
	"rung/internal/cycle"
	"rung/internal/quantity"
	"rung/internal/source"
)

// Assumption is one field of a nameplate that was unknown and what was taken
// in its place.
type Assumption struct {
	Field  string             // "rated-load-amps"
	Dim    quantity.Dimension // of Value
	Value  float64            // SI; 0 for a choice
	Choice string             // "txv"; empty for a number
	Source source.Source
}

// Complete fills every unknown field of n with what is usual in the trade for
// the rest of the plate, and lists what it took. It checks nothing: see
// Nameplate.Check.
func (n Nameplate) Complete() (Nameplate, []Assumption) {
	c := completer{n: &n}
	if n.HeatPump == 0 {
		n.HeatPump = No // asked when the call is taken, never guessed
	}
	c.machine()
	c.outdoor()
	c.indoor()
	c.control()
	return n, c.taken
}

type completer struct {
	n     *Nameplate
	taken []Assumption
}

func practice(ref string) source.Source { return source.Source{Class: source.Practice, Ref: ref} }
func memory(ref string) source.Source   { return source.Source{Class: source.Memory, Ref: ref} }

// number fills an unknown quantity.
func number[Q ~float64](c *completer, field string, dim quantity.Dimension, q *Q, value float64, src source.Source) {
	if *q != 0 {
		return
	}
	*q = Q(value)
	c.taken = append(c.taken, Assumption{Field: field, Dim: dim, Value: value, Source: src})
}

// choice fills an unknown choice.
func choice[E ~uint8](c *completer, field string, e *E, value E, word, why string) {
	if *e != 0 {
		return
	}
	*e = value
	c.taken = append(c.taken, Assumption{Field: field, Choice: word, Source: practice(why)})
}

func (c *completer) fitted(field string, f *Fitted, yes bool, why string) {
	value, word := No, "no"
	if yes {
		value, word = Yes, "yes"
	}
	choice(c, field, f, value, word, why)
}

// machine fills what the refrigerant cycle is calibrated from.
func (c *completer) machine() {
	n := c.n
	if n.Refrigerant == "" {
		n.Refrigerant = "R-410A"
		c.taken = append(c.taken, Assumption{Field: "refrigerant", Choice: "R-410A",
			Source: practice("most split systems of 2010 to 2024; read the plate before gauges go on")})
	}
	old := n.normal()
	if n.NominalCooling == 0 {
		watts, why := 10551.0, "3 t is the commonest size"
		if n.RatedLoadAmps > 0 {
			watts, why = capacityForRLA(float64(n.RatedLoadAmps)), "size whose usual rated load amps are nearest"
		}
		number(c, "nominal-cooling", quantity.DimPower, &n.NominalCooling, watts, practice(why))
	}
	if n.SEER == 0 && n.EER == 0 {
		// 13 and 10 Btu/(W·h) in W/W: legal minimum of the years in which each refrigerant was common.
		seer := 3.81
		if old {
			seer = 2.93
		}
		number(c, "seer", quantity.DimRatio, &n.SEER, seer, memory("federal minimum 10 until 2005, 13 from 2006"))
	}
	if n.Metering == 0 {
		n.Metering = cycle.TXV
		word := "txv"
		if old {
			n.Metering, word = cycle.FixedOrifice, "fixed-orifice"
		}
		c.taken = append(c.taken, Assumption{Field: "metering", Choice: word,
			Source: practice("R-22 systems mostly have a piston, later ones mostly a TXV")})
	}
	kind, word := Scroll, "scroll"
	if old {
		kind, word = Reciprocating, "reciprocating"
	}
	choice(c, "compressor", &n.Compressor, kind, word, "later units mostly have a scroll, old R-22 ones a reciprocating compressor")
	number(c, "target-subcooling", quantity.DimTempDiff, &n.TargetSubcooling, 5.6, practice("10 °F where the plate gives none; 8 to 14 °F are usual"))
	number(c, "target-superheat", quantity.DimTempDiff, &n.TargetSuperheat, 5.6, practice("10 °F at the coil at rating; TXV 6 to 12 °F"))
	number(c, "line-length", quantity.DimLength, &n.LineLength, 7.62, practice("25 ft; 15 to 50 ft are usual"))
	// 36 oz per ton of cooling is 2.90e-4 kg/W.
	number(c, "factory-charge", quantity.DimMass, &n.FactoryCharge, float64(n.NominalCooling)*2.90e-4, practice("plates say 28 to 45 oz per ton; 36 taken"))
}

// outdoor fills the electrical plate of the outdoor unit.
func (c *completer) outdoor() {
	n := c.n
	s := sizeFor(float64(n.NominalCooling))
	typical := memory("compressor data sheets as a class, by capacity")
	number(c, "rated-voltage", quantity.DimVoltage, &n.RatedVoltage, 230, practice("208/230 V plates"))
	number(c, "rated-load-amps", quantity.DimCurrent, &n.RatedLoadAmps, s.rla, typical)
	number(c, "locked-rotor-amps", quantity.DimCurrent, &n.LockedRotorAmps, s.lra*float64(n.RatedLoadAmps)/s.rla, typical)
	number(c, "fan-power", quantity.DimPower, &n.FanPower, s.fanPower, practice("1/8 hp to 2 t, 1/4 hp at 3 to 4 t, 1/3 hp at 5 t"))
	number(c, "fan-amps", quantity.DimCurrent, &n.FanAmps, s.fanAmps*float64(n.FanPower)/s.fanPower, practice("by shaft power"))
	number(c, "herm-capacitance", quantity.DimCapacitance, &n.HermCapacitance, s.herm, practice("35 to 80 µF by size; read the can and the unit's plate"))
	number(c, "fan-capacitance", quantity.DimCapacitance, &n.FanCapacitance, s.fanCap, practice("3 to 7.5 µF by fan power"))
	number(c, "capacitor-voltage", quantity.DimVoltage, &n.CapacitorVoltage, 440, practice("440 V rating; 370 V on older units"))
	choice(c, "contactor-poles", &n.Poles, OneAndAHalfPole, "one-and-a-half-pole", "the commonest in small outdoor units")
	number(c, "max-protection", quantity.DimCurrent, &n.MaxProtection, s.protection, practice("2.25 RLA plus fan, rounded down"))
	c.fitted("high-pressure-switch", &n.HighPressureSwitch, !n.normal(), "usual on R-410A units and their like, rare on R-22 ones")
	c.fitted("low-pressure-switch", &n.LowPressureSwitch, false, "optional on cooling-only units")
	c.fitted("time-delay", &n.TimeDelay, false, "mostly in the thermostat today")
	c.fitted("outdoor-board", &n.OutdoorBoard, false, "cooling-only units mostly have none")
	c.fitted("crankcase-heater", &n.CrankcaseHeater, n.Compressor == Reciprocating, "usual with reciprocating compressors")
	c.fitted("start-assist", &n.StartAssist, false, "added in the field where needed")
	c.fitted("fused-disconnect", &n.FusedDisconnect, false, "plain pull-outs are commoner today")
	number(c, "conductor-length", quantity.DimLength, &n.ConductorLength, 15.24, practice("50 ft from panel to unit"))
	if n.ConductorAWG == 0 {
		n.ConductorAWG = s.awg
		c.taken = append(c.taken, Assumption{Field: "conductor-awg", Value: float64(s.awg), Source: practice("by minimum ampacity at 75 °C")})
	}
}

// indoor fills the indoor unit.
func (c *completer) indoor() {
	n := c.n
	choice(c, "indoor-unit", &n.Indoor, AirHandler, "air-handler", "taken for lack of knowledge; a furnace is as common in the north")
	choice(c, "blower", &n.Blower, PSCMotor, "psc", "most systems before 2019")
	volts := 230.0
	if n.Indoor == Furnace {
		volts = 115
	}
	number(c, "blower-voltage", quantity.DimVoltage, &n.BlowerVoltage, volts, practice("air handlers 230 V, furnaces 115 V"))
	number(c, "blower-power", quantity.DimPower, &n.BlowerPower, blowerPower(float64(n.NominalCooling)), practice("1/3 hp to 2.5 t, 1/2 hp to 3.5 t, 3/4 hp above"))
	number(c, "blower-capacitance", quantity.DimCapacitance, &n.BlowerCap, blowerCap(float64(n.BlowerPower)), practice("7.5 to 15 µF by power"))
	// 400 CFM per ton of cooling is 5.368e-5 m³/s per W.
	number(c, "airflow", quantity.DimVolumeFlow, &n.Airflow, 5.368e-5*float64(n.NominalCooling), practice("400 CFM per ton"))
	choice(c, "float-switch", &n.Float, FloatBreaksR, "breaks-r", "commonest wiring where one is fitted")
	c.fitted("condensate-pump", &n.CondensatePump, false, "gravity drain")
}

// control fills transformer, fuse, thermostat and cables.
func (c *completer) control() {
	n := c.n
	tap := 240.0
	if n.BlowerVoltage < 150 {
		tap = 120
	}
	number(c, "transformer-tap", quantity.DimVoltage, &n.Transformer, tap, practice("the voltage of the blower's branch circuit"))
	number(c, "transformer-rating", quantity.DimPower, &n.TransformerVA, 40, practice("40 VA"))
	number(c, "control-fuse", quantity.DimCurrent, &n.ControlFuse, 3, practice("3 A blade fuse with a 40 VA transformer, 5 A on larger boards"))
	choice(c, "thermostat-supply", &n.Thermostat, CommonWire, "common-wire", "usual since thermostats have displays and radios")
	number(c, "thermostat-cable", quantity.DimLength, &n.ThermostatCable, 7.62, practice("25 ft of 18 AWG"))
	number(c, "outdoor-cable", quantity.DimLength, &n.OutdoorCable, 15.24, practice("50 ft of 18 AWG"))
}

// blowerPower returns the usual shaft rating in W for a cooling capacity in W.
// practice: 1/3, 1/2 and 3/4 hp for 2.5, 3.5 and 5 t.
func blowerPower(cooling float64) float64 {
	switch {
	case cooling <= 9000:
		return 249
	case cooling <= 12500:
		return 373
	}
	return 560
}

// blowerCap returns the usual run capacitor in F for a shaft rating in W.
// practice: 7.5, 10 and 15 µF for 1/3, 1/2 and 3/4 hp.
func blowerCap(power float64) float64 {
	switch {
	case power < 300:
		return 7.5e-6
	case power < 450:
		return 10e-6
	}
	return 15e-6
}
