package web

import (
	"slices"
	"strconv"
	"strings"

	"rung/internal/replace"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// The transformers as they are named on the page.
const (
	coolingUnit replace.SourceID = "cooling unit"
	heatingUnit replace.SourceID = "heating unit"
)

// wireEnd is a place where a conductor can be landed at the equipment.
type wireEnd struct {
	id, name string
	end      replace.End
}

var wireEnds = []wireEnd{
	{"", "not traced", replace.End{}},
	{"y1", "compressor (Y)", loadEnd(replace.Compressor)},
	{"g", "blower (G)", loadEnd(replace.Blower)},
	{"w1", "heat (W)", loadEnd(replace.Heat)},
	{"r1", "R of the cooling or only unit", replace.End{Kind: replace.PowerEnd, Source: coolingUnit}},
	{"c1", "C of the cooling or only unit", replace.End{Kind: replace.CommonEnd, Source: coolingUnit}},
	{"r2", "R of the heating unit", replace.End{Kind: replace.PowerEnd, Source: heatingUnit}},
	{"c2", "C of the heating unit", replace.End{Kind: replace.CommonEnd, Source: heatingUnit}},
	{"valve", "reversing valve (O or B)", loadEnd(replace.ReversingValve)},
	{"aux", "auxiliary heat", loadEnd(replace.Auxiliary)},
	{"e", "emergency relay", loadEnd(replace.EmergencyRelay)},
	{"y2", "compressor, second stage", loadEnd(replace.Compressor2)},
	{"w2", "heat, second stage", loadEnd(replace.HeatSecond)},
	{"hum", "humidifier", loadEnd(replace.Humidifier)},
	{"l", "fault lamp", replace.End{Kind: replace.SignalEnd}},
	{"free", "spare, free at both ends", replace.End{Kind: replace.FreeEnd}},
}

func loadEnd(id replace.LoadID) replace.End { return replace.End{Kind: replace.LoadEnd, Load: id} }

// Rows of the table of conductors.
const (
	firstWires = 5 // of the usual cable
	mostWires  = 12
)

func thermostatReplacer() replacer {
	return replacer{
		id: "thermostat", title: "Thermostat", note: "Wire by wire: which conductor goes where, jumper, common, settings, proof.",
		about: "By function, not by letter or colour. The plan is tried call by call on a model of your wiring before it is shown. " +
			"Line-voltage, millivolt and communicating thermostats are refused.",
		cautions: []string{"control-near-line"},
		example: example("control", "24-volt", "heat", "boiler", "cooling", "1", "two", "yes", "old", "RC RH Y G W", "old-link", "out",
			"wire1-colour", "red", "wire1-at", "RC", "wire1-to", "r1", "wire2-colour", "yellow", "wire2-at", "Y", "wire2-to", "y1",
			"wire3-colour", "green", "wire3-at", "G", "wire3-to", "g", "wire4-colour", "red", "wire4-at", "RH", "wire4-to", "r2",
			"wire5-colour", "white", "wire5-at", "W", "wire5-to", "w1", "wire6-colour", "blue", "wire6-to", "free",
			"new", "RC RH C Y1 G W1 O/B", "new-link", "removable", "mode", "both", "supply", "common", "feed", "rc"),
		draw: drawThermostat, plan: planThermostat,
	}
}

func drawThermostat(a *asked) drawn {
	choices := func(pairs ...string) (list []visit.Choice) {
		for i := 0; i < len(pairs); i += 2 {
			list = append(list, visit.Choice{ID: pairs[i], Name: pairs[i+1]})
		}
		return list
	}
	tick := func(name, label, hint string) page.Field { return a.f.field(page.Tick, name, name, label, hint) }
	return drawn{
		sets: []page.FieldSet{
			{Heading: "The system", Fields: []page.Field{
				a.f.choose("control", "Wires at the thermostat", "Thick wires under wire nuts are line voltage: leave them alone", choices("24-volt", "Thin, 24 V", "line-voltage", "Thick, 120 or 240 V", "millivolt", "Two, from a pilot valve", "communicating", "Data wires, A B")),
				a.f.choose("heat", "Heat", "", choices("none", "None", "furnace", "Furnace", "boiler", "Boiler", "hydro-coil", "Water coil in the air handler", "electric", "Electric", "heat-pump", "Heat pump")),
				a.f.choose("cooling", "Cooling stages", "Of a heat pump: stages of its compressor", choices("0", "None", "1", "One", "2", "Two")),
				tick("two", "Two transformers", "One in the unit that cools, one in the unit that heats. Find out before you answer"),
			}},
			{Heading: "More about heat", Folded: true, Fields: []page.Field{
				a.f.choose("heat-stages", "Heat stages", "Of furnace, boiler or electric heat", choices("1", "One", "2", "Two")),
				a.f.choose("fan-by", "Who starts the fan with heat?", "Electric heat without its own relay needs the thermostat to do it", choices("", "By the kind of heat", "unit", "The unit itself", "thermostat", "The thermostat")),
				a.f.choose("valve", "Reversing valve energised in", "Of a heat pump", choices("", "Not looked", "cooling", "Cooling (O)", "heating", "Heating (B)")),
				a.f.choose("backup", "Auxiliary heat", "Of a heat pump", choices("", "None", "electric", "Electric", "fossil", "Furnace")),
				tick("emergency", "Emergency heat has a relay of its own", ""),
				tick("humidifier", "The thermostat switches a humidifier", ""),
				tick("no-common-1", "C of the cooling or only unit cannot be reached", ""),
				tick("common-2", "C of the heating unit can be reached", "Not at two T terminals"),
				tick("fan-joined", "Y and G are joined at the board already", ""),
			}},
			{Heading: "The old thermostat", Fields: []page.Field{
				a.f.words("old", "Its terminals", "All letters on the base, parted by blanks: R C Y G W"),
				a.f.choose("old-link", "Jumper between Rc and Rh", "", choices("", "Has one R", "in", "In", "out", "Out")),
			}},
		},
		wires: a.wireTable(),
		after: []page.FieldSet{
			{Heading: "The new thermostat", Fields: []page.Field{
				a.f.words("new", "Its terminals", "As printed: RC RH C Y1 Y2 G W1 W2/AUX O/B"),
				a.f.choose("new-link", "Between its Rc and Rh", "", choices("", "Has one R", "removable", "Jumper or setting", "none", "Nothing", "fixed", "Joined for good")),
				a.f.choose("mode", "Can be set to", "", choices("both", "Either", "conventional", "Conventional only", "heat-pump", "Heat pump only")),
				a.f.choose("supply", "Its power", "", choices("common", "Needs C", "common-or-battery", "C or batteries", "none", "Batteries only", "common-or-through-load", "C, or through a load")),
			}},
			{Heading: "More about the new one", Folded: true, Fields: []page.Field{
				a.f.choose("feed", "Its electronics live from", "Where it has Rc and Rh", choices("rc", "Rc", "rh", "Rh")),
				tick("adapter", "An adapter for the board came with it", "It lets one conductor carry Y and G"),
				tick("no-fan-setting", "It cannot be set to start the fan with heat", ""),
				tick("dual-fuel", "It can hold a heat pump off while a furnace burns", ""),
			}},
		},
	}
}

// wireTable asks for the conductors.
func (a *asked) wireTable() *page.WireTable {
	t := page.WireTable{Heading: "The conductors", Intro: "Colour, letter at the old thermostat, and where it goes at the equipment, if you traced it. A letter alone is taken as a guess and marked."}
	for _, e := range wireEnds {
		t.Ends = append(t.Ends, page.Choice{Value: e.id, Label: e.name})
	}
	for i := 1; i <= mostWires; i++ {
		name := "wire" + strconv.Itoa(i)
		row := page.WireRow{Name: name, Title: "Wire " + strconv.Itoa(i), Colour: a.f.value(name + "-colour"), At: a.f.value(name + "-at"), End: a.f.value(name + "-to")}
		if i <= firstWires {
			t.Rows = append(t.Rows, row)
		} else {
			t.More = append(t.More, row)
		}
	}
	return &t
}

// system builds the system from the form.
func (a *asked) system() replace.System {
	s := replace.System{Control: replace.Control(a.word("control")), Sources: []replace.Source{{ID: coolingUnit, Common: !a.yes("no-common-1")}}}
	heatFrom := coolingUnit
	if a.yes("two") {
		s.Sources = append(s.Sources, replace.Source{ID: heatingUnit, Common: a.yes("common-2")})
		heatFrom = heatingUnit
	}
	add := func(when bool, id replace.LoadID, from replace.SourceID) {
		if when {
			s.Loads = append(s.Loads, replace.Load{ID: id, Source: from})
		}
	}
	heat, cooling := a.word("heat"), a.whole("cooling")
	s.HeatPump = heat == "heat-pump"
	if s.HeatPump {
		cooling = max(cooling, 1)
		s.ValveInHeat, s.BackupFossil = a.word("valve") == "heating", a.word("backup") == "fossil"
		if a.word("valve") == "" {
			a.mistake("valve", "Look at the equipment: in which mode is the valve energised?")
		}
	}
	add(cooling > 0, replace.Compressor, coolingUnit)
	add(cooling > 1, replace.Compressor2, coolingUnit)
	add(cooling > 0 || heat == "hydro-coil" || heat == "electric" || heat == "furnace" && a.wired("g"), replace.Blower, coolingUnit)
	add(s.HeatPump, replace.ReversingValve, coolingUnit)
	add(s.HeatPump && a.word("backup") != "", replace.Auxiliary, heatFrom)
	add(s.HeatPump && a.yes("emergency"), replace.EmergencyRelay, heatFrom)
	conventional := !s.HeatPump && heat != "none"
	add(conventional, replace.Heat, heatFrom)
	add(conventional && a.word("heat-stages") == "2", replace.HeatSecond, heatFrom)
	add(a.yes("humidifier"), replace.Humidifier, heatFrom)
	s.FanWithHeat = conventional && (a.word("fan-by") == "thermostat" || a.word("fan-by") == "" && heat == "electric")
	return s
}

// wired says whether a conductor was traced to an end, or sits on the letter of
// the fan.
func (a *asked) wired(end string) bool {
	for i := 1; i <= mostWires; i++ {
		name := "wire" + strconv.Itoa(i)
		if a.word(name+"-to") == end || strings.EqualFold(a.word(name+"-at"), end) {
			return true
		}
	}
	return false
}

// conductors reads the table of wires; empty rows are left out.
func (a *asked) conductors() (list []replace.Conductor) {
	for i := 1; i <= mostWires; i++ {
		name := "wire" + strconv.Itoa(i)
		colour, at, to := a.word(name+"-colour"), strings.ToUpper(a.word(name+"-at")), a.word(name+"-to")
		if colour == "" && at == "" && to == "" {
			continue
		}
		c := replace.Conductor{ID: strconv.Itoa(i), Colour: colour, At: at}
		if j := slices.IndexFunc(wireEnds, func(e wireEnd) bool { return e.id == to }); j >= 0 {
			c.To = wireEnds[j].end
		}
		list = append(list, c)
	}
	return list
}

func planThermostat(a *asked) *page.Replacement {
	for _, x := range []struct{ field, message string }{
		{"control", "Say which wires there are: line voltage must never meet a 24 V thermostat."},
		{"heat", "Say how the house is heated."}, {"cooling", "Say how many stages cool."},
		{"old", "Type the letters of the old base."}, {"new", "Type the letters of the new base."},
		{"mode", "Say what it can be set to."}, {"supply", "Say how it is powered."},
	} {
		if a.word(x.field) == "" {
			a.mistake(x.field, x.message)
		}
	}
	swap := replace.Swap{System: a.system(), Conductors: a.conductors(), New: a.newBase(),
		Old: replace.Base{Terminals: replace.ParseTerminals(a.word("old")), Conventional: true, HeatPump: true, FanWithHeat: true, DualFuel: true,
			Link: replace.RemovableLink, LinkIn: a.word("old-link") == "in"}}
	if a.yes("fan-joined") {
		swap.Joined = [][2]replace.LoadID{{replace.Compressor, replace.Blower}}
	}
	if a.fails(nil) {
		return nil
	}
	p, err := replace.Thermostat(swap)
	if a.fails(err) {
		return nil
	}
	return a.thermostatAnswer(p)
}

func (a *asked) newBase() replace.Base {
	b := replace.Base{
		Terminals: replace.ParseTerminals(a.word("new")), Link: replace.Link(a.word("new-link")),
		Conventional: a.word("mode") != "heat-pump", HeatPump: a.word("mode") != "conventional",
		DualFuel: a.yes("dual-fuel"), FanWithHeat: !a.yes("no-fan-setting"), Supply: replace.Supply(a.word("supply")),
		SupplyFrom: replace.PowerCool, Adapter: a.yes("adapter"),
	}
	if a.word("feed") == "rh" {
		b.SupplyFrom = replace.PowerHeat
	}
	return b
}

// thermostatAnswer makes a plan ready to be shown, or says why there is none.
func (a *asked) thermostatAnswer(p replace.Plan) *page.Replacement {
	if !p.Accepted() {
		return &page.Replacement{Headline: "No plan for this", Grade: "fails", Lead: "Nothing is moved until this is settled.", Doubts: sayAll(p.Refusals), Findings: a.steps(p.Findings)}
	}
	r := &page.Replacement{Headline: "It can be changed", Grade: "holds", Lead: "Power of the thermostat: " + replace.Word(p.Remedy, "en") + ".", Findings: a.steps(p.Findings)}
	if len(p.Others) > 0 {
		var others []string
		for _, id := range p.Others {
			others = append(others, replace.Word(id, "en"))
		}
		r.Lead += " It would also work with " + strings.Join(others, ", or ") + "."
	}
	switch p.Link {
	case "in":
		r.Jumper = "Jumper Rc to Rh: in"
	case "out":
		r.Jumper = "Jumper Rc to Rh: out"
	}
	if len(p.Losses) > 0 {
		r.Grade, r.Headline = "", "It can be changed, with a loss"
	}
	for _, l := range p.Losses {
		r.Losses = append(r.Losses, say(l.Why))
	}
	for _, m := range p.Moves {
		name := "Wire " + m.Conductor.ID
		if m.Conductor.Colour != "" {
			name += ", " + m.Conductor.Colour
		}
		r.Wires = append(r.Wires, page.WireMove{Wire: name, From: m.Conductor.At, To: m.To, Why: say(m.Why), Assumed: m.Assumed})
	}
	r.Steps = a.steps(p.Steps)
	for _, x := range p.Settings {
		r.Settings = append(r.Settings, say(x.Says))
	}
	for _, x := range p.Proof {
		text := say(x.Step.Sentence)
		var loads []string
		for _, id := range x.Loads {
			loads = append(loads, replace.Word(string(id), "en"))
		}
		if len(loads) > 0 {
			text += " Must run: " + strings.Join(loads, ", ") + "."
		}
		r.Proof = append(r.Proof, page.Step{Text: text, Cautions: a.cautions(x.Step.Cautions)})
	}
	return r
}
