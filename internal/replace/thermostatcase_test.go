package replace

import (
	"errors"
	"slices"
	"strings"
	"testing"
)

// wires reads "1 red R power:a" per line: id, colour, old terminal or -, end.
func wires(t testing.TB, text string) (list []Conductor) {
	t.Helper()
	for _, line := range strings.Split(strings.TrimSpace(text), "\n") {
		f := strings.Fields(line)
		if len(f) != 4 {
			t.Fatalf("wire %q", line)
		}
		c := Conductor{ID: f[0], Colour: f[1], At: strings.TrimPrefix(f[2], "-")}
		kind, id, _ := strings.Cut(f[3], ":")
		switch EndKind(kind) {
		case PowerEnd, CommonEnd:
			c.To = End{Kind: EndKind(kind), Source: SourceID(id)}
		case LoadEnd:
			c.To = End{Kind: LoadEnd, Load: LoadID(id)}
		case FreeEnd, SignalEnd:
			c.To = End{Kind: EndKind(kind)}
		}
		list = append(list, c)
	}
	return list
}

// moves writes a plan as "1 R, 2 Y, 3 cap".
func moves(p Plan) string {
	var list []string
	for _, m := range p.Moves {
		to := m.To
		if to == "" {
			to = "cap"
		}
		list = append(list, m.Conductor.ID+" "+to)
	}
	return strings.Join(list, ", ")
}

func base(marks string, change ...func(*Base)) Base {
	b := Base{Terminals: ParseTerminals(marks), Conventional: true, HeatPump: true, DualFuel: true, FanWithHeat: true, SupplyFrom: PowerCool}
	if b.twoPowers() {
		b.Link = RemovableLink
	}
	for _, f := range change {
		f(&b)
	}
	return b
}

func supply(s Supply) func(*Base) { return func(b *Base) { b.Supply = s } }
func link(l Link) func(*Base)     { return func(b *Base) { b.Link = l } }

var (
	furnaceAC = System{Sources: []Source{{"furnace", true}}, Loads: []Load{{Compressor, "furnace"}, {Blower, "furnace"}, {Heat, "furnace"}}}
	// An air handler cools, a boiler with two T terminals heats.
	boilerAC = System{Sources: []Source{{"air-handler", true}, {"boiler", false}},
		Loads: []Load{{Compressor, "air-handler"}, {Blower, "air-handler"}, {Heat, "boiler"}}}
	heatPump = System{HeatPump: true, Sources: []Source{{"air-handler", true}},
		Loads: []Load{{Compressor, "air-handler"}, {Blower, "air-handler"}, {ReversingValve, "air-handler"}, {Auxiliary, "air-handler"}}}
	boilerOnly = System{Sources: []Source{{"boiler", false}}, Loads: []Load{{Heat, "boiler"}}}
)

const (
	furnaceWires = `
		1 red R power:furnace
		2 yellow Y load:compressor
		3 green G load:blower
		4 white W load:heat`
	boilerWires = `
		1 red RC power:air-handler
		2 yellow Y load:compressor
		3 green G load:blower
		4 red RH power:boiler
		5 white W load:heat`
	heatPumpWires = `
		1 red R power:air-handler
		2 blue C common:air-handler
		3 yellow Y load:compressor
		4 green G load:blower
		5 orange O load:reversing-valve
		6 white W2 load:auxiliary-heat`
)

// Changes of thermostat as they are met. practice: no source; what each must
// come to was reasoned out by hand from the terminals.
func TestThermostat(t *testing.T) {
	second := furnaceAC
	second.Loads = append(slices.Clone(second.Loads), Load{HeatSecond, "furnace"})
	b := heatPump
	b.ValveInHeat = true
	withEmergency := heatPump
	withEmergency.Loads = append(slices.Clone(heatPump.Loads), Load{EmergencyRelay, "air-handler"})
	for _, c := range []struct {
		name, wires         string
		sys                 System
		old, new            Base
		moves, link, remedy string
		losses              string
	}{
		{name: "four wires, batteries", sys: furnaceAC, wires: furnaceWires, old: base("R Y G W"), new: base("RC RH C Y G W", supply(OrBattery)),
			moves: "1 RC, 2 Y, 3 G, 4 W", link: "in", remedy: "battery"},
		{name: "four wires and a spare", sys: furnaceAC, wires: furnaceWires + "\n5 blue - free", old: base("R Y G W"), new: base("RC RH C Y1 G W1 O/B", supply(NeedsCommon)),
			moves: "1 RC, 2 Y1, 3 G, 4 W1, 5 C", link: "in", remedy: "spare"},
		{name: "four wires, a common needed, no adapter", sys: furnaceAC, wires: furnaceWires, old: base("R Y G W"), new: base("R C Y G W", supply(NeedsCommon)),
			moves: "1 R, 2 Y, 3 C, 4 W", remedy: "share-fan", losses: "blower"},
		{name: "four wires, a common needed, adapter", sys: furnaceAC, wires: furnaceWires, old: base("R Y G W"),
			new: base("R C Y G W", supply(NeedsCommon), func(b *Base) { b.Adapter = true }), moves: "1 R, 2 Y, 3 C, 4 W", remedy: "adapter"},
		{name: "B of an old base is the common", sys: furnaceAC, wires: furnaceWires + "\n5 blue B common:furnace", old: base("R Y G W B"), new: base("R C Y G W O/B", supply(NeedsCommon)),
			moves: "1 R, 2 Y, 3 G, 4 W, 5 C", remedy: "present"},
		{name: "two transformers", sys: boilerAC, wires: boilerWires, old: base("RC RH Y G W"), new: base("RC RH C Y G W", supply(OrBattery)),
			moves: "1 RC, 2 Y, 3 G, 4 RH, 5 W", link: "out", remedy: "battery"},
		{name: "two transformers, common of the one that cools", sys: boilerAC, wires: boilerWires + "\n6 blue C common:air-handler", old: base("RC RH C Y G W"),
			new: base("RC RH C Y G W", supply(NeedsCommon)), moves: "1 RC, 2 Y, 3 G, 4 RH, 5 W, 6 C", link: "out", remedy: "present"},
		{name: "two transformers, one R: isolating relay", sys: boilerAC, wires: boilerWires + "\n6 blue C common:air-handler", old: base("RC RH C Y G W"),
			new: base("R C Y G W", supply(NeedsCommon)), moves: "1 R, 2 Y, 3 G, 4 cap, 5 W, 6 C", remedy: "present"},
		{name: "two wires of a boiler, plug-in transformer", sys: boilerOnly, wires: "1 red R power:boiler\n2 white W load:heat", old: base("R W"),
			new: base("RC RH C Y G W", supply(NeedsCommon)), moves: "1 RH, 2 W", link: "out", remedy: "plug-in"},
		{name: "heat pump, valve in cooling", sys: heatPump, wires: heatPumpWires, old: base("R C Y G O W2"), new: base("R C Y1 Y2 G W1 W2/AUX O/B E", supply(NeedsCommon)),
			moves: "1 R, 2 C, 3 Y1, 4 G, 5 O/B, 6 W2/AUX", remedy: "present"},
		{name: "heat pump, valve in heating, letters alone", sys: b, wires: strings.NewReplacer("orange O load:reversing-valve", "orange B ?", "load:compressor", "?").Replace(heatPumpWires),
			old: base("R C Y G B W2"), new: base("R C Y G W O/B AUX", supply(NeedsCommon)), moves: "1 R, 2 C, 3 Y, 4 G, 5 O/B, 6 AUX", remedy: "present"},
		{name: "emergency relay without a terminal", sys: withEmergency, wires: heatPumpWires + "\n7 brown E load:emergency-relay", old: base("R C Y G O W2 E"),
			new: base("R C Y G O/B AUX", supply(NeedsCommon)), moves: "1 R, 2 C, 3 Y, 4 G, 5 O/B, 6 AUX, 7 cap", remedy: "present", losses: "emergency-relay"},
		{name: "two heat stages on one", sys: second, wires: furnaceWires + "\n5 brown W2 load:heat-second-stage", old: base("R Y G W W2"), new: base("R Y G W"),
			moves: "1 R, 2 Y, 3 G, 4 W, 5 cap", remedy: "none-needed", losses: "heat-second-stage"},
	} {
		p, err := Thermostat(Swap{System: c.sys, Old: c.old, New: c.new, Conductors: wires(t, c.wires)})
		if err != nil || !p.Accepted() {
			t.Errorf("%s: refused %v, %v", c.name, p.Refusals, err)
			continue
		}
		var losses []string
		for _, l := range p.Losses {
			losses = append(losses, string(l.Load))
		}
		if got := strings.Join(losses, " "); moves(p) != c.moves || p.Link != c.link || p.Remedy != c.remedy || got != c.losses {
			t.Errorf("%s: moves %s, jumper %q, remedy %s, losses %q\nwant %s, %q, %s, %q", c.name, moves(p), p.Link, p.Remedy, got, c.moves, c.link, c.remedy, c.losses)
		}
	}
}

func TestThermostatRefusals(t *testing.T) {
	common := base("R C Y G W", supply(NeedsCommon))
	noAux := func(b *Base) { b.Terminals = ParseTerminals("R C Y G O/B") }
	fuel := heatPump
	fuel.BackupFossil = true
	for _, c := range []struct {
		name, wires string
		sys         System
		old, new    Base
		want        string
	}{
		{"communicating", furnaceWires, furnaceAC, base("R Y G W", func(b *Base) { b.Control = Communicating }), common, "refuse-communicating"},
		{"line voltage", furnaceWires, furnaceAC, base("R Y G W", func(b *Base) { b.Control = LineVoltage }), common, "refuse-line-voltage"},
		{"millivolt", furnaceWires, System{Control: Millivolt, Sources: furnaceAC.Sources, Loads: furnaceAC.Loads}, base("R Y G W"), common, "refuse-millivolt"},
		{"conventional on a heat pump", heatPumpWires, heatPump, base("R C Y G O W2"), base("R C Y G W", func(b *Base) { b.HeatPump = false }), "refuse-heat-pump-mode"},
		{"no terminal for the valve", heatPumpWires, heatPump, base("R C Y G O W2"), base("R C Y G W AUX"), "refuse-no-terminal"},
		{"no terminal for auxiliary heat", heatPumpWires, heatPump, base("R C Y G O W2"), base("R", noAux), "refuse-no-terminal"},
		{"auxiliary heat without a conductor", strings.Replace(heatPumpWires, "6 white W2 load:auxiliary-heat", "", 1), heatPump, base("R C Y G O W2"), base("R C Y G O/B AUX"), "refuse-missing-conductor"},
		{"two heat terminals, neither for auxiliary heat", heatPumpWires, heatPump, base("R C Y G O W2"), base("R C Y G W1 W2 O/B"), "refuse-aux-unclear"},
		{"furnace beside a heat pump", heatPumpWires, fuel, base("R C Y G O W2"), base("R C Y G O/B AUX", func(b *Base) { b.DualFuel = false }), "refuse-dual-fuel"},
		{"a letter that means many things", furnaceWires + "\n5 blue X ?", furnaceAC, base("R Y G W X"), common, "refuse-trace"},
		{"one R for two transformers, no common to reach", boilerWires,
			System{Sources: []Source{{"air-handler", false}, {"boiler", false}}, Loads: boilerAC.Loads}, base("RC RH Y G W"), base("R Y G W"), "refuse-one-power"},
		{"fixed link between two transformers, second stage", boilerWires + "\n6 brown W2 load:heat-second-stage",
			System{Sources: boilerAC.Sources, Loads: append(slices.Clone(boilerAC.Loads), Load{HeatSecond, "boiler"})}, base("RC RH Y G W W2"), base("RC RH Y G W W2", link(FixedLink)), "refuse-one-power"},
		{"heat only, one R, no common", "1 red R power:boiler\n2 white W load:heat", boilerOnly, base("R W"), base("R C W", supply(NeedsCommon)), "refuse-no-common"},
	} {
		wiresText := strings.ReplaceAll(c.wires, "\t\t\n", "")
		p, err := Thermostat(Swap{System: c.sys, Old: c.old, New: c.new, Conductors: wires(t, strings.TrimSpace(wiresText))})
		if err != nil || p.Accepted() || p.Refusals[0].ID != c.want {
			t.Errorf("%s: %v, %v, want %s", c.name, p.Refusals, err, c.want)
		}
	}
}

// The jumper of the old base joins two transformers: the plan finds it and
// leaves it out.
func TestTiedTransformersAreFound(t *testing.T) {
	old := base("RC RH Y G W")
	old.LinkIn = true
	p, err := Thermostat(Swap{System: boilerAC, Old: old, New: base("RC RH Y G W"), Conductors: wires(t, boilerWires)})
	if err != nil || !p.Accepted() || len(p.Findings) == 0 || p.Findings[0].ID != "found-tied" || p.Link != "out" {
		t.Errorf("plan %+v, %v", p, err)
	}
}

// The order of a proof: transformers, cooling, heating, fan, both apart.
func TestProofInOrder(t *testing.T) {
	p, err := Thermostat(Swap{System: boilerAC, Old: base("RC RH Y G W"), New: base("RC RH Y G W"), Conductors: wires(t, boilerWires)})
	if err != nil {
		t.Fatal(err)
	}
	var ids []string
	for _, x := range p.Proof {
		ids = append(ids, x.Step.ID)
	}
	if got, want := strings.Join(ids, " "), "proof-power proof-cool proof-heat proof-other proof-off proof-apart"; got != want {
		t.Errorf("proof %s, want %s", got, want)
	}
}

func TestSwapContradictions(t *testing.T) {
	for _, c := range []struct {
		name string
		swap Swap
	}{
		{"no transformer", Swap{}},
		{"terminal that is not there", Swap{System: furnaceAC, Old: base("R W"), New: base("R W"), Conductors: []Conductor{{ID: "1", At: "Y"}}}},
		{"load that is not there", Swap{System: furnaceAC, Old: base("R W"), New: base("R W"), Conductors: []Conductor{{ID: "1", At: "W", To: End{Kind: LoadEnd, Load: Humidifier}}}}},
		{"conductor told twice", Swap{System: furnaceAC, Old: base("R W"), New: base("R W"), Conductors: []Conductor{{ID: "1"}, {ID: "1"}}}},
		{"terminal told twice", Swap{System: furnaceAC, Old: base("R R"), New: base("R W")}},
		{"heat pump without a valve", Swap{System: System{HeatPump: true, Sources: furnaceAC.Sources, Loads: furnaceAC.Loads[:2]}}},
	} {
		var wrong *InputError
		if _, err := Thermostat(c.swap); !errors.As(err, &wrong) {
			t.Errorf("%s: error %v, want an InputError", c.name, err)
		}
	}
}

func FuzzParseTerminals(f *testing.F) {
	f.Add("R C Y1 O/B W2/AUX x")
	f.Fuzz(func(t *testing.T, text string) {
		list := ParseTerminals(text)
		for _, x := range list {
			if again := ParseTerminal(x.Mark); again.Mark != x.Mark || !slices.Equal(again.Roles, x.Roles) {
				t.Errorf("ParseTerminal(%q) = %+v, before %+v", x.Mark, again, x)
			}
		}
	})
}
