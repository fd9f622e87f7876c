package visit

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"rung/internal/cycle"
	"rung/internal/fault"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/record"
)

// plateField is a field of a nameplate: data/plate.txt.
type plateField struct {
	amountField
	on      []string // kinds of unit
	words   []string // the closed list of a field in words
	shown   []string // their wording, if it differs
	perWatt bool     // a cooling rating per watt drawn
	// sets are the values of a described system that are the number in SI, scales
	// those that change in the same proportion as the first of them.
	sets, scales []string
	// month says that it is a year, or a year and a month, and of no account to a model.
	month bool
}

var plateFields = sync.OnceValue(func() []plateField { return readPlateFields(readData("plate.txt")) })

func readPlateFields(f fault.File) []plateField {
	bars := func(at func(*plateField) *[]string) fault.Key[plateField] {
		return fault.Key[plateField]{Set: func(p *plateField, s string) error {
			*at(p) = strings.Split(s, "|")
			return nil
		}}
	}
	keys := map[string]fault.Key[plateField]{
		"name":  fault.Required(fault.InWords(func(p *plateField) *string { return &p.name })),
		"where": fault.Required(fault.InWords(func(p *plateField) *string { return &p.where.EN })),
		"on":    fault.Required(fault.IDs(func(p *plateField) *[]string { return &p.on })),
		"dim":   fault.InWords(func(p *plateField) *string { return (*string)(&p.dim) }),
		"unit":  fault.InWords(func(p *plateField) *string { return &p.unit }),
		"low":   fault.InWords(func(p *plateField) *string { return &p.low }),
		"high":  fault.InWords(func(p *plateField) *string { return &p.high }),
		"words": {Set: func(p *plateField, s string) error {
			p.words = strings.Fields(s)
			return nil
		}},
		"words.en": bars(func(p *plateField) *[]string { return &p.shown }),
		"sets":     fault.IDs(func(p *plateField) *[]string { return &p.sets }),
		"scales":   fault.IDs(func(p *plateField) *[]string { return &p.scales }),
		"per-watt": fault.Flag(func(p *plateField) *bool { return &p.perWatt }),
		"month":    fault.Flag(func(p *plateField) *bool { return &p.month }),
	}
	var list []plateField
	for _, b := range f.Blocks {
		p := plateField{amountField: amountField{id: b.ID}}
		mustDecode(f, b, keys, &p)
		list = append(list, p)
	}
	return list
}

func plateFieldOf(id string) (plateField, bool) {
	i := slices.IndexFunc(plateFields(), func(p plateField) bool { return p.id == id })
	if i < 0 {
		return plateField{}, false
	}
	return plateFields()[i], true
}

// choices returns the words of the field as answers.
func (p plateField) choices() []Choice {
	var list []Choice
	for i, w := range p.words {
		name := w
		if p.shown != nil {
			name = p.shown[i]
		}
		list = append(list, Choice{w, name})
	}
	return list
}

// read parses what was typed or chosen.
func (p plateField) read(text string) (v record.AsRead, kind Kind, problem string) {
	if p.month {
		return p.readMonth(text)
	}
	if p.words == nil {
		return p.amountField.read(English, text)
	}
	for _, w := range p.words {
		if strings.EqualFold(w, clean(text)) {
			return record.AsRead{Text: w}, "", ""
		}
	}
	return v, Invalid, fmt.Sprintf("%s: %q is none of %s.", p.name, clean(text), strings.Join(p.words, ", "))
}

// readMonth reads "2014" or "2014-05".
func (p plateField) readMonth(text string) (v record.AsRead, kind Kind, problem string) {
	text = clean(text)
	switch day, ok := madeOn(text); {
	case !ok:
		return v, Invalid, fmt.Sprintf("%s: %q is no year. Type it as 2014, or with its month as 2014-05.", p.name, text)
	case day.Format("2006") < p.low || day.Format("2006") > p.high:
		return v, OutOfRange, fmt.Sprintf("%s: %s cannot be; it lies between %s and %s. Read it again.", p.name, text, p.low, p.high)
	}
	return record.AsRead{Text: text}, "", ""
}

// setPlate puts the value of a field into a nameplate of the plant. The key is
// the id of data/plate.txt; a test wants every field of the file here that sets
// no value of a described system.
var setPlate = map[string]func(n *plant.Nameplate, v plateValue){
	"refrigerant":          func(n *plant.Nameplate, v plateValue) { n.Refrigerant = v.word },
	"nominal-cooling":      number(func(n *plant.Nameplate) *quantity.Power { return &n.NominalCooling }),
	"seer":                 number(func(n *plant.Nameplate) *quantity.Ratio { return &n.SEER }),
	"eer":                  number(func(n *plant.Nameplate) *quantity.Ratio { return &n.EER }),
	"target-subcooling":    number(func(n *plant.Nameplate) *quantity.TempDiff { return &n.TargetSubcooling }),
	"target-superheat":     number(func(n *plant.Nameplate) *quantity.TempDiff { return &n.TargetSuperheat }),
	"factory-charge":       number(func(n *plant.Nameplate) *quantity.Mass { return &n.FactoryCharge }),
	"line-length":          number(func(n *plant.Nameplate) *quantity.Length { return &n.LineLength }),
	"rated-voltage":        number(func(n *plant.Nameplate) *quantity.Voltage { return &n.RatedVoltage }),
	"rated-load-amps":      number(func(n *plant.Nameplate) *quantity.Current { return &n.RatedLoadAmps }),
	"locked-rotor-amps":    number(func(n *plant.Nameplate) *quantity.Current { return &n.LockedRotorAmps }),
	"fan-amps":             number(func(n *plant.Nameplate) *quantity.Current { return &n.FanAmps }),
	"fan-power":            number(func(n *plant.Nameplate) *quantity.Power { return &n.FanPower }),
	"herm-capacitance":     number(func(n *plant.Nameplate) *quantity.Capacitance { return &n.HermCapacitance }),
	"fan-capacitance":      number(func(n *plant.Nameplate) *quantity.Capacitance { return &n.FanCapacitance }),
	"capacitor-voltage":    number(func(n *plant.Nameplate) *quantity.Voltage { return &n.CapacitorVoltage }),
	"max-protection":       number(func(n *plant.Nameplate) *quantity.Current { return &n.MaxProtection }),
	"conductor-length":     number(func(n *plant.Nameplate) *quantity.Length { return &n.ConductorLength }),
	"blower-voltage":       number(func(n *plant.Nameplate) *quantity.Voltage { return &n.BlowerVoltage }),
	"blower-power":         number(func(n *plant.Nameplate) *quantity.Power { return &n.BlowerPower }),
	"blower-capacitance":   number(func(n *plant.Nameplate) *quantity.Capacitance { return &n.BlowerCap }),
	"airflow":              number(func(n *plant.Nameplate) *quantity.VolumeFlow { return &n.Airflow }),
	"transformer-rating":   number(func(n *plant.Nameplate) *quantity.Power { return &n.TransformerVA }),
	"control-fuse":         number(func(n *plant.Nameplate) *quantity.Current { return &n.ControlFuse }),
	"thermostat-cable":     number(func(n *plant.Nameplate) *quantity.Length { return &n.ThermostatCable }),
	"outdoor-cable":        number(func(n *plant.Nameplate) *quantity.Length { return &n.OutdoorCable }),
	"high-pressure-switch": fitted(func(n *plant.Nameplate) *plant.Fitted { return &n.HighPressureSwitch }),
	"low-pressure-switch":  fitted(func(n *plant.Nameplate) *plant.Fitted { return &n.LowPressureSwitch }),
	"time-delay":           fitted(func(n *plant.Nameplate) *plant.Fitted { return &n.TimeDelay }),
	"outdoor-board":        fitted(func(n *plant.Nameplate) *plant.Fitted { return &n.OutdoorBoard }),
	"crankcase-heater":     fitted(func(n *plant.Nameplate) *plant.Fitted { return &n.CrankcaseHeater }),
	"start-assist":         fitted(func(n *plant.Nameplate) *plant.Fitted { return &n.StartAssist }),
	"fused-disconnect":     fitted(func(n *plant.Nameplate) *plant.Fitted { return &n.FusedDisconnect }),
	"condensate-pump":      fitted(func(n *plant.Nameplate) *plant.Fitted { return &n.CondensatePump }),
	"metering": inWords(func(n *plant.Nameplate) *cycle.MeteringDevice { return &n.Metering },
		map[string]cycle.MeteringDevice{"txv": cycle.TXV, "fixed-orifice": cycle.FixedOrifice}),
	"compressor": inWords(func(n *plant.Nameplate) *plant.CompressorKind { return &n.Compressor },
		map[string]plant.CompressorKind{"scroll": plant.Scroll, "reciprocating": plant.Reciprocating}),
	"contactor-poles": inWords(func(n *plant.Nameplate) *plant.ContactorPoles { return &n.Poles },
		map[string]plant.ContactorPoles{"one-pole": plant.OnePole, "one-and-a-half-pole": plant.OneAndAHalfPole, "two-pole": plant.TwoPole}),
	"conductor-awg": inWords(func(n *plant.Nameplate) *int { return &n.ConductorAWG },
		map[string]int{"14": 14, "12": 12, "10": 10, "8": 8, "6": 6, "4": 4}),
	"blower": inWords(func(n *plant.Nameplate) *plant.BlowerMotor { return &n.Blower },
		map[string]plant.BlowerMotor{"psc": plant.PSCMotor, "constant-airflow": plant.ConstantAirflowMotor}),
	"transformer-tap": inWords(func(n *plant.Nameplate) *quantity.Voltage { return &n.Transformer },
		map[string]quantity.Voltage{"120": 120, "208": 208, "240": 240}),
	"float-switch": inWords(func(n *plant.Nameplate) *plant.FloatBreaks { return &n.Float },
		map[string]plant.FloatBreaks{"none": plant.NoFloat, "breaks-r": plant.FloatBreaksR, "breaks-y": plant.FloatBreaksY}),
	"thermostat-supply": inWords(func(n *plant.Nameplate) *plant.ThermostatSupply { return &n.Thermostat },
		map[string]plant.ThermostatSupply{"common-wire": plant.CommonWire, "battery": plant.Battery, "power-stealing": plant.PowerStealing}),
}

// plateValue is a value of a nameplate: a number in SI or a word.
type plateValue struct {
	si   float64
	word string
}

func number[Q ~float64](at func(*plant.Nameplate) *Q) func(*plant.Nameplate, plateValue) {
	return func(n *plant.Nameplate, v plateValue) { *at(n) = Q(v.si) }
}

func inWords[E comparable](at func(*plant.Nameplate) *E, words map[string]E) func(*plant.Nameplate, plateValue) {
	return func(n *plant.Nameplate, v plateValue) { *at(n) = words[v.word] }
}

func fitted(at func(*plant.Nameplate) *plant.Fitted) func(*plant.Nameplate, plateValue) {
	return inWords(at, map[string]plant.Fitted{"yes": plant.Yes, "no": plant.No})
}
