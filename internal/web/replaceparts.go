package web

import (
	"net/url"
	"strconv"
	"strings"

	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/replace"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// example fills a planner: name, value, name, value.
func example(pairs ...string) url.Values {
	q := url.Values{"sent": {"yes"}}
	for i := 0; i+1 < len(pairs); i += 2 {
		q.Set(pairs[i], pairs[i+1])
	}
	return q
}

func capacitorReplacer() replacer {
	return replacer{
		id: "capacitor", title: "Run capacitor, outdoor unit", note: "By the old can or the plate; what on the truck fits, and the reading afterwards.",
		about:    "The same µF within the printed tolerance, volts at least those of the old can. What the plate of unit or motor says wins over the can.",
		cautions: []string{"capacitor-charge"},
		plate:    map[string]string{"plate-herm": "herm-capacitance", "plate-fan": "fan-capacitance", "plate-volts": "capacitor-voltage"},
		example: example("can-herm", "45", "can-fan", "5", "can-volts", "370", "truck",
			"45+5 uF 440 V\n45 uF 440 V\n5 uF 370 V\n40+5 uF 440 V\n88-108 uF 330 V start", "amps", "6.1", "volts", "366"),
		draw: drawCapacitor, plan: planCapacitor,
	}
}

// blowerCapacitorReplacer is the same planner with the plate of the indoor unit.
func blowerCapacitorReplacer() replacer {
	x := capacitorReplacer()
	x.id, x.title, x.note = "blower-capacitor", "Blower capacitor", "The same, for the indoor unit."
	x.plate = map[string]string{"plate-herm": "blower-capacitance"}
	x.example = example("can-herm", "10", "can-volts", "370", "truck", "10 uF 370 V oval\n7.5 uF 440 V\n45+10 uF 440 V")
	return x
}

func drawCapacitor(a *asked) drawn {
	uf := func(name, label, hint string) page.Field {
		return a.number(name, label, hint, quantity.DimCapacitance, "µF")
	}
	return drawn{sets: []page.FieldSet{
		{Heading: "The old can", Fields: []page.Field{
			uf("can-herm", "µF, or HERM of a dual", "Printed on it"),
			uf("can-fan", "FAN of a dual", "Empty for a single"),
			a.number("can-volts", "Volts", "370 or 440", quantity.DimVoltage, "V"),
		}},
		{Heading: "The plate of unit or motor", Intro: "Wins over the can.", Fields: []page.Field{
			uf("plate-herm", "µF, or HERM of a dual", ""), uf("plate-fan", "FAN of a dual", ""), a.number("plate-volts", "Volts on the plate", "", quantity.DimVoltage, "V"),
		}},
		a.truck("45+5 uF 440 V ±6% round"),
		{Heading: "Tolerance, size, terminals", Folded: true, Fields: []page.Field{
			a.f.words("tolerance", "Printed tolerance, %", "6, or +10/-6; ±6 if not printed"),
			a.f.choose("case", "Shape", "", []visit.Choice{{ID: "", Name: "Not looked"}, {ID: "round", Name: "Round"}, {ID: "oval", Name: "Oval"}}),
			a.number("room", "Free height", "Below the cover, without the terminals", quantity.DimLength, "in."),
			a.f.words("posts", "Leads on the fullest terminal", ""),
		}},
		{Heading: "Reading after fitting", Folded: true, Intro: "Running, covers as they must be, meter proved.", Fields: []page.Field{
			a.number("amps", "Amps in the HERM lead, or of the single", "", quantity.DimCurrent, "A"),
			a.number("volts", "Volts across it", "HERM to C", quantity.DimVoltage, "V"),
		}},
	}}
}

func planCapacitor(a *asked) *page.Replacement {
	farads := func(name string) quantity.Capacitance {
		return quantity.Capacitance(a.amount(name, quantity.DimCapacitance, "µF"))
	}
	volts := func(name string) quantity.Voltage {
		return quantity.Voltage(a.amount(name, quantity.DimVoltage, "V"))
	}
	need := replace.CapacitorNeed{
		Label: replace.CapacitorLabel{Capacitance: farads("can-herm"), Fan: farads("can-fan"), Volts: volts("can-volts"), Case: replace.CaseShape(a.word("case"))},
		Plate: replace.CapacitorLabel{Capacitance: farads("plate-herm"), Fan: farads("plate-fan"), Volts: volts("plate-volts")},
		Room:  quantity.Length(a.amount("room", quantity.DimLength, "in.")), Posts: a.whole("posts"),
	}
	a.tolerance(&need.Label)
	if need.Label.Capacitance == 0 && need.Plate.Capacitance == 0 {
		a.mistake("can-herm", "Type what the can or the plate says.")
	}
	list, lines := labels(a, capacitorLabel)
	amps, across := quantity.Current(a.amount("amps", quantity.DimCurrent, "A")), volts("volts")
	if a.fails(nil) {
		return nil
	}
	x, err := replace.Capacitor(need, list)
	if a.fails(err) {
		return nil
	}
	r := a.answer(x, lines)
	if amps > 0 || across > 0 {
		rated := max(need.Plate.Capacitance, 0)
		if rated == 0 {
			rated = need.Label.Capacitance
		}
		back, err := replace.ReadBack(need.Label, rated, amps, across, 60)
		if a.fails(err) {
			return nil
		}
		r.Facts = []page.Fact{{Name: "Reading under load", Value: showPart(quantity.DimCapacitance, float64(back.Capacitance)), Doubt: say(back.Says)}}
	}
	return r
}

// tolerance reads "6" or "+10/-6".
func (a *asked) tolerance(l *replace.CapacitorLabel) {
	text := strings.TrimSuffix(strings.TrimLeft(a.word("tolerance"), "±"), "%")
	if text == "" {
		return
	}
	above, below, two := strings.Cut(text, "/")
	if !two {
		below = above
	}
	x, err := strconv.ParseFloat(strings.TrimLeft(strings.TrimSpace(above), "+"), 64)
	y, other := strconv.ParseFloat(strings.TrimLeft(strings.TrimSpace(below), "-"), 64)
	if err != nil || other != nil {
		a.mistake("tolerance", "Type 6, or +10/-6.")
		return
	}
	l.Above, l.Below = x/100, y/100
}

func contactorReplacer() replacer {
	return replacer{
		id: "contactor", title: "Contactor", note: "Poles, amps, coil; and the crankcase heater that lives through an open pole.",
		about:    "Poles, full load and locked rotor amps at least those of the load; the same coil.",
		cautions: []string{"prove-dead"},
		plate:    map[string]string{"poles": "contactor-poles", "rla": "rated-load-amps", "lra": "locked-rotor-amps", "fla": "fan-amps", "heater": "crankcase-heater"},
		example: example("poles", "one-and-a-half-pole", "rla", "16.7", "lra", "79", "fla", "1.4", "coil", "24", "truck",
			"2 pole 30 A 150 LRA 24 V 50/60 Hz\n1.5 pole 25 A 120 LRA 24 V\n1 pole 20 A 75 LRA 24 V\n2 pole 40 A 200 LRA 240 V"),
		draw: drawContactor, plan: planContactor,
	}
}

func drawContactor(a *asked) drawn {
	current := func(name, label, hint string) page.Field {
		return a.number(name, label, hint, quantity.DimCurrent, "A")
	}
	coil := a.number("coil", "Coil", "24 V if left empty", quantity.DimVoltage, "V")
	return drawn{sets: []page.FieldSet{
		{Heading: "The old one and its load", Fields: []page.Field{
			a.f.choose("poles", "Poles of the old one", "By looking, power off and proved dead", []visit.Choice{
				{ID: "one-pole", Name: "One"}, {ID: "one-and-a-half-pole", Name: "One and a bar"}, {ID: "two-pole", Name: "Two"}}),
			current("rla", "Compressor RLA", "Plate"), current("lra", "Compressor LRA", "Plate"), current("fla", "Fan FLA", "Plate, if it runs through the same contactor"),
			coil,
		}},
		a.truck("2 pole 30 A 150 LRA 24 V 50/60 Hz"),
		{Heading: "Heater and auxiliary contacts", Folded: true, Fields: []page.Field{
			a.f.field(page.Tick, "heater-across", "heater-across", "The crankcase heater sits across the open pole", "From L1 to T1: it lives through the winding while the contactor is off"),
			a.f.words("aux", "Auxiliary contacts in use", ""),
		}},
	}}
}

func planContactor(a *asked) *page.Replacement {
	current := func(name string) quantity.Current {
		return quantity.Current(a.amount(name, quantity.DimCurrent, "A"))
	}
	need := replace.ContactorNeed{
		Poles:      map[string]plant.ContactorPoles{"one-pole": plant.OnePole, "one-and-a-half-pole": plant.OneAndAHalfPole, "two-pole": plant.TwoPole}[a.word("poles")],
		Compressor: current("rla"), LockedRotor: current("lra"), Fan: current("fla"), Coil: quantity.Voltage(a.amount("coil", quantity.DimVoltage, "V")),
		Frequency: 60, Auxiliary: a.whole("aux"), HeaterAcrossPole: a.yes("heater-across"),
	}
	if need.Coil == 0 {
		need.Coil = 24 // practice: nearly all residential contactors
	}
	if need.Compressor == 0 {
		a.mistake("rla", "Without the rated load amps there is no answer: read the plate.")
	}
	list, lines := labels(a, contactorLabel)
	if a.fails(nil) {
		return nil
	}
	x, err := replace.Contactor(need, list)
	if a.fails(err) {
		return nil
	}
	return a.answer(x, lines)
}

func transformerReplacer() replacer {
	return replacer{
		id: "transformer", title: "Control transformer", note: "Tap by the meter, volt-amperes by the loads counted.",
		about:    "Primary tap for the line as measured, 24 V, volt-amperes at least the sum of the loads, class 2, fused.",
		cautions: []string{"prove-dead"},
		plate:    map[string]string{"old": "transformer-rating", "fuse": "control-fuse"},
		example: example("line", "236", "old", "40", "fuse", "3", "load-contactor", "1", "load-blower-relay", "1", "load-gas-valve", "1", "load-thermostat", "1",
			"truck", "40 VA 120/208/240 V to 24 V class 2\n75 VA 120/208/240/480 V to 24 V class 2 breaker\n40 VA 120 V to 24 V class 2"),
		draw: drawTransformer, plan: planTransformer,
	}
}

func drawTransformer(a *asked) drawn {
	loads := page.FieldSet{Heading: "How many hang on it?", Intro: "Count those that can run together."}
	for _, l := range replace.ControlLoads() {
		loads.Fields = append(loads.Fields, a.f.words("load-"+l.ID, capital(plain(l.ID)), "Counts "+showPart(replace.DimVoltAmps, float64(l.VA))+" each"))
	}
	loads.Fields = append(loads.Fields, a.number("more", "Others together", "From their plates", quantity.DimPower, "VA"))
	return drawn{sets: []page.FieldSet{
		{Heading: "Line and old transformer", Fields: []page.Field{
			a.number("line", "Line at the primary leads", "Measured", quantity.DimVoltage, "V"),
			a.number("old", "Rating of the old one", "", quantity.DimPower, "VA"),
			a.number("fuse", "Control fuse on the board", "Empty if there is none", quantity.DimCurrent, "A"),
		}},
		a.truck("40 VA 120/208/240 V to 24 V class 2"), loads,
	}}
}

func planTransformer(a *asked) *page.Replacement {
	counts := map[string]int{}
	for _, l := range replace.ControlLoads() {
		counts[l.ID] = a.whole("load-" + l.ID)
	}
	load, _ := replace.LoadOf(counts)
	load += quantity.Power(a.amount("more", quantity.DimPower, "VA"))
	need := replace.TransformerNeed{Line: quantity.Voltage(a.amount("line", quantity.DimVoltage, "V")), Load: load,
		Old: quantity.Power(a.amount("old", quantity.DimPower, "VA")), Fuse: quantity.Current(a.amount("fuse", quantity.DimCurrent, "A"))}
	if need.Line == 0 {
		a.mistake("line", "Measure the line first: the tap is chosen by the meter.")
	}
	if load == 0 {
		a.mistake("load-"+replace.ControlLoads()[0].ID, "Count the loads: without them no rating can be chosen.")
	}
	list, lines := labels(a, transformerLabel)
	if a.fails(nil) {
		return nil
	}
	x, err := replace.Transformer(need, list)
	if a.fails(err) {
		return nil
	}
	r := a.answer(x, lines)
	r.Facts = []page.Fact{{Name: "Load counted", Value: showPart(replace.DimVoltAmps, float64(load)), Doubt: "the plates of the loads win"}}
	return r
}

func fuseReplacer() replacer {
	return replacer{
		id: "fuse", title: "Fuse", note: "Never larger than printed; in the line, time-delay by the plate.",
		about:    "A fuse is never larger than what is printed on board or plate, whatever was found in its place.",
		cautions: []string{"fuse-size", "prove-dead"},
		plate:    map[string]string{"control": "control-fuse", "most": "max-protection"},
		example:  example("place", "control-fuse", "control", "3", "old", "5", "truck", "blade 5 A\nblade 3 A\n35 A 250 V time-delay"),
		draw:     drawFuse, plan: planFuse,
	}
}

func drawFuse(a *asked) drawn {
	current := func(name, label, hint string) page.Field {
		return a.number(name, label, hint, quantity.DimCurrent, "A")
	}
	return drawn{sets: []page.FieldSet{
		{Heading: "Which fuse?", Fields: []page.Field{
			a.f.choose("place", "Where it sits", "", []visit.Choice{{ID: "control-fuse", Name: "24 V, on the board"}, {ID: "line-fuse", Name: "Line, in the disconnect"}}),
			current("control", "Printed on the board", "Of a control fuse"),
			current("most", "Maximum fuse on the plate", "Of a line fuse"),
			current("least", "Minimum circuit ampacity on the plate", "Of a line fuse"),
			current("old", "The fuse that was in", ""),
		}},
		a.truck("blade 3 A”, or “35 A 250 V time-delay"),
	}}
}

func planFuse(a *asked) *page.Replacement {
	current := func(name string) quantity.Current {
		return quantity.Current(a.amount(name, quantity.DimCurrent, "A"))
	}
	need := replace.FuseNeed{Place: replace.FusePlace(a.word("place")), Printed: current("control"), Old: current("old")}
	field := "control"
	switch need.Place {
	case replace.LineFuse:
		need.Printed, need.Least, need.Volts, field = current("most"), current("least"), 240, "most"
	case replace.ControlFuse:
	default:
		a.mistake("place", "Say which fuse it is.")
	}
	if need.Printed == 0 {
		a.mistake(field, "Without what is printed there is no answer. Never go by the fuse that was in.")
	}
	list, lines := labels(a, fuseLabel)
	if a.fails(nil) {
		return nil
	}
	x, err := replace.Fuse(need, list)
	if a.fails(err) {
		return nil
	}
	return a.answer(x, lines)
}

// motorReplacer plans the condenser fan motor, outdoors, or the blower motor.
func motorReplacer(outdoor bool) replacer {
	x := replacer{
		id: "fan-motor", title: "Condenser fan motor", note: "Horsepower, poles, amps, rotation, shaft, weather, and its own capacitor.",
		about:    "The same horsepower, poles and rotation, amps within the unit's plate, a shaft that fits, and a new capacitor of its own.",
		cautions: []string{"prove-dead", "moving-fan"},
		plate:    map[string]string{"power": "fan-power", "plate": "fan-amps", "supply": "rated-voltage", "cap": "fan-capacitance"},
		example: example("kind", "psc", "power", "1/4", "speed", "1075", "supply", "230", "amps", "1.4", "plate", "1.4", "rotation", "clockwise",
			"shaft", "0.5", "reach", "5", "frame", "48Y", "mounting", "shaft-down", "cap", "5", "shared", "yes", "truck",
			"1/4 hp 1075 rpm 208-230 V 1.4 A reversible 1/2 x 6 in 48Y 7.5 uF 370 V weather shaft any\n1/3 hp 1075 rpm 208-230 V 2.0 A reversible 1/2 x 6 in 48Y 7.5 uF weather\n1/4 hp 825 rpm 208-230 V 1.5 A reversible 1/2 x 5 in 48Y 5 uF weather"),
		draw: drawMotor, plan: func(a *asked) *page.Replacement { return planMotor(a, outdoor) },
	}
	if !outdoor {
		x.id, x.title, x.note = "blower-motor", "Blower motor", "The same indoors, speeds counted. Motors with a module only by the maker's part."
		x.plate = map[string]string{"kind": "blower", "power": "blower-power", "supply": "blower-voltage", "cap": "blower-capacitance"}
		x.example = example("kind", "constant-torque", "part", "M-1200", "truck", "constant torque 1/2 hp part M-1310 replaces M-1200\nconstant torque 1/2 hp part M-900\n1/2 hp 1075 rpm 115 V 7.2 A reversible")
	}
	return x
}

func drawMotor(a *asked) drawn {
	power := a.number("power", "Horsepower", "A fraction will do: 1/4", quantity.DimPower, "hp")
	power.Kind = page.Words // the number pad has no stroke
	return drawn{sets: []page.FieldSet{
		{Heading: "The old motor", Fields: []page.Field{
			a.f.choose("kind", "Kind", "With a module: wires in a plug, electronics on the motor", []visit.Choice{
				{ID: "psc", Name: "With a capacitor (PSC)"}, {ID: "constant-torque", Name: "Module, constant torque"}, {ID: "constant-airflow", Name: "Module, constant airflow"}}),
			a.f.words("part", "Maker's part number", "Of a motor with a module"),
			power,
			a.number("speed", "Speed at full load", "Highest speed on its plate", quantity.DimRotation, "rpm"),
			a.number("supply", "Supply", "Nominal", quantity.DimVoltage, "V"),
			a.number("amps", "FLA on its plate", "", quantity.DimCurrent, "A"),
			a.number("plate", "FLA on the unit's plate", "", quantity.DimCurrent, "A"),
			a.f.choose("rotation", "Turns, seen from the lead end", "", []visit.Choice{{ID: "clockwise", Name: "Clockwise"}, {ID: "counter-clockwise", Name: "Counter-clockwise"}, {ID: "", Name: "Not known"}}),
		}},
		a.truck("1/4 hp 1075 rpm 208-230 V 1.4 A reversible 1/2 x 6 in 48Y 5 uF 370 V weather shaft any"),
		{Heading: "Shaft, frame, capacitor", Folded: true, Fields: []page.Field{
			a.number("shaft", "Shaft diameter", "", quantity.DimLength, "in."),
			a.number("reach", "Shaft length", "", quantity.DimLength, "in."),
			a.f.words("frame", "Frame", "48, 48Y, 56"),
			a.f.choose("mounting", "Shaft points", "", []visit.Choice{{ID: "shaft-up", Name: "Up"}, {ID: "shaft-down", Name: "Down"}, {ID: "shaft-horizontal", Name: "Level"}, {ID: "", Name: "Not looked"}}),
			a.f.words("speeds", "Speeds in use", "Of a blower"),
			a.number("cap", "Its capacitor", "", quantity.DimCapacitance, "µF"),
			a.f.field(page.Tick, "shared", "shared", "It runs on the FAN section of a dual can", ""),
		}},
	}}
}

func planMotor(a *asked, outdoor bool) *page.Replacement {
	old := replace.MotorLabel{
		Kind: replace.MotorKind(a.word("kind")), Part: strings.ToUpper(a.word("part")),
		Power: quantity.Power(a.amount("power", quantity.DimPower, "hp")), Speed: a.amount("speed", quantity.DimRotation, "rpm"),
		FullLoad: quantity.Current(a.amount("amps", quantity.DimCurrent, "A")), Rotation: replace.Rotation(a.word("rotation")),
		ShaftSize: quantity.Length(a.amount("shaft", quantity.DimLength, "in.")), ShaftReach: quantity.Length(a.amount("reach", quantity.DimLength, "in.")),
		Frame: strings.ToUpper(a.word("frame")), Mounting: replace.Shaft(a.word("mounting")), Cap: quantity.Capacitance(a.amount("cap", quantity.DimCapacitance, "µF")),
	}
	need := replace.MotorNeed{Old: old, Outdoor: outdoor, Plate: quantity.Current(a.amount("plate", quantity.DimCurrent, "A")),
		Supply: quantity.Voltage(a.amount("supply", quantity.DimVoltage, "V")), Speeds: a.whole("speeds"), SharedCapacitor: a.yes("shared")}
	if old.Kind == "" {
		a.mistake("kind", "Say which kind it is: a module is never guessed at.")
	}
	list, lines := labels(a, motorLabel)
	if a.fails(nil) {
		return nil
	}
	x, err := replace.Motor(need, list)
	if a.fails(err) {
		return nil
	}
	r := a.answer(x.Answer, lines)
	if best, ok := x.Best(); ok {
		if cap, wants := x.Capacitors[best.Parts[0]]; wants {
			r.Facts = []page.Fact{{Name: "New capacitor", Value: showPart(quantity.DimCapacitance, float64(cap.Plate.Capacitance)), Doubt: "by the plate of the new motor"}}
		}
	}
	return r
}

func branchReplacer() replacer {
	return replacer{
		id: "branch", title: "Branch circuit and protection", note: "Minimum ampacity, breaker, conductor and voltage drop, step by step.",
		about:    "The nameplate first, then the rules. Local code and the nameplate win over everything here.",
		cautions: []string{"breaker-reset"},
		plate: map[string]string{"rla": "rated-load-amps", "lra": "locked-rotor-amps", "fla": "fan-amps", "plate-most": "max-protection", "awg": "conductor-awg",
			"length": "conductor-length", "supply": "rated-voltage"},
		example: example("rla", "16.7", "lra", "79", "fla", "1.4", "terminals", "75", "breaker", "40", "awg", "12", "length", "50"),
		draw:    drawBranch, plan: planBranch,
	}
}

func drawBranch(a *asked) drawn {
	current := func(name, label, hint string) page.Field {
		return a.number(name, label, hint, quantity.DimCurrent, "A")
	}
	var sizes []visit.Choice
	for _, c := range replace.Conductors() {
		if c.Amps[0] > 0 {
			sizes = append(sizes, visit.Choice{ID: strconv.Itoa(c.AWG), Name: strconv.Itoa(c.AWG) + " AWG"})
		}
	}
	return drawn{sets: []page.FieldSet{
		{Heading: "Loads", Fields: []page.Field{
			current("rla", "Compressor RLA", ""), current("lra", "Compressor LRA", ""), current("fla", "Fan FLA", ""), current("other", "Other loads on the circuit", ""),
		}},
		{Heading: "On the plate", Intro: "Used as it stands.", Fields: []page.Field{
			current("plate-least", "Minimum circuit ampacity", ""), current("plate-most", "Maximum fuse or breaker", ""),
		}},
		{Heading: "What is there", Fields: []page.Field{
			current("breaker", "Breaker or fuse", ""),
			a.f.choose("awg", "Conductors, copper", "Printed on the cable", sizes),
			a.f.choose("terminals", "Terminals", "The lowest marking at either end; 60 °C if not looked", []visit.Choice{{ID: "60", Name: "60 °C"}, {ID: "75", Name: "75 °C"}}),
			a.f.field(page.Tick, "cable", "cable", "Non-metallic cable", ""),
			a.number("length", "Length from panel to unit", "One way", quantity.DimLength, "ft"),
		}},
		{Heading: "Supply and air", Folded: true, Fields: []page.Field{
			a.number("supply", "Supply", "240 V if left empty", quantity.DimVoltage, "V"),
			a.number("selection", "Branch-circuit selection current", "If the plate marks one", quantity.DimCurrent, "A"),
			a.f.amount("air", "air", "Warmest air around the conductors", "86 °F if left empty", quantity.DimTemperature, "°F"),
		}},
	}}
}

func planBranch(a *asked) *page.Replacement {
	current := func(name string) quantity.Current {
		return quantity.Current(a.amount(name, quantity.DimCurrent, "A"))
	}
	need := replace.BranchNeed{
		RatedLoad: current("rla"), LockedRotor: current("lra"), Selection: current("selection"), PlateMinimum: current("plate-least"), PlateMost: current("plate-most"),
		Breaker: current("breaker"), AWG: a.whole("awg"), Terminals: a.whole("terminals"), Cable: a.yes("cable"), Solid: false,
		Length: quantity.Length(a.amount("length", quantity.DimLength, "ft")), Supply: quantity.Voltage(a.amount("supply", quantity.DimVoltage, "V")),
		Ambient: quantity.Temperature(a.amount("air", quantity.DimTemperature, "°F")),
	}
	for _, name := range []string{"fla", "other"} {
		if x := current(name); x > 0 {
			need.Others = append(need.Others, x)
		}
	}
	if need.RatedLoad == 0 {
		a.mistake("rla", "Without the rated load amps there is no answer: read the plate.")
	}
	if a.fails(nil) {
		return nil
	}
	x, err := replace.Branch(need)
	if a.fails(err) {
		return nil
	}
	r := &page.Replacement{Headline: strconv.Itoa(x.Conductor.AWG) + " AWG, " + showPart(quantity.DimCurrent, float64(x.Protection)) + " at most", Why: sayAll(x.Steps),
		Facts: []page.Fact{
			{Name: "Minimum ampacity", Value: showPart(quantity.DimCurrent, float64(x.Minimum)), Doubt: "of the conductors"},
			{Name: "Maximum fuse or breaker", Value: showPart(quantity.DimCurrent, float64(x.Protection))},
			{Name: "Thinnest conductor", Value: strconv.Itoa(x.Conductor.AWG) + " AWG", Doubt: "carries " + showPart(quantity.DimCurrent, float64(x.Ampacity))},
		}}
	for _, f := range x.Findings {
		if strings.HasSuffix(f.ID, "-good") {
			r.Findings = append(r.Findings, a.steps([]replace.Step{f})...)
		} else {
			r.Grade, r.Doubts = "fails", append(r.Doubts, say(f.Sentence))
		}
	}
	for _, d := range []struct {
		name string
		drop *replace.Drop
	}{{"Lost running", x.Running}, {"Lost at the start", x.Starting}} {
		if d.drop != nil {
			r.Facts = append(r.Facts, page.Fact{Name: d.name, Value: showPart(quantity.DimVoltage, float64(d.drop.Volts)), Doubt: showPart(quantity.DimRatio, float64(d.drop.Part)) + " of the line"})
		}
	}
	return r
}
