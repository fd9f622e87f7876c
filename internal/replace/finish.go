package replace

import (
	"fmt"
	"slices"
)

// finish writes the plan out from the draft that passed.
func (p *planner) finish(d *draft) {
	p.plan.Moves, p.plan.Losses, p.plan.Equipment = d.moves, d.losses, d.equipment
	p.plan.Remedy = d.remedy
	if p.New.twoPowers() && p.New.Link != FixedLink {
		p.plan.Link = "out"
		if d.w.linkIn {
			p.plan.Link = "in"
		}
	}
	p.settings()
	for _, c := range p.System.Calls() {
		p.plan.After = append(p.plan.After, d.w.simulate(c))
	}
	p.steps(d)
	p.prove(d)
}

// apart says whether two transformers reach the thermostat.
func (p *planner) apart() bool {
	seen := map[SourceID]bool{}
	for _, w := range p.wires {
		if w.end.Kind == PowerEnd {
			seen[w.end.Source] = true
		}
	}
	return len(seen) > 1
}

// steps puts the work in order.
func (p *planner) steps(d *draft) {
	step := func(s Sentence, cautions ...string) { p.plan.Steps = append(p.plan.Steps, Step{s, cautions}) }
	step(say("step-picture"))
	if p.apart() || p.Old.twoPowers() {
		step(say("step-meter"), "control-near-line")
	}
	if p.apart() {
		step(say("step-off-both"), "prove-dead")
	} else {
		step(say("step-off"), "prove-dead")
	}
	for _, m := range d.moves {
		if m.Assumed {
			step(say("step-trace"), "control-near-line")
			break
		}
	}
	p.plan.Steps = append(p.plan.Steps, d.equipment...)
	step(say("step-moves"))
	switch {
	case p.plan.Link == "in" && p.New.Link == NoLink:
		step(say("step-link-wire"))
	case p.plan.Link == "in":
		step(say("step-link-in"))
	case p.plan.Link == "out" && p.apart():
		step(say("step-link-out-two"), "control-near-line")
	case p.plan.Link == "out":
		step(say("step-link-out"))
	}
	switch d.remedy {
	case remedyBattery:
		step(say("step-battery"))
	case remedyThrough:
		step(say("step-through"))
	case remedyPlugIn:
		step(say("step-plug-in", given("power", d.w.supplyMark())), "prove-dead")
	}
	step(say("step-seal"))
	step(say("step-settings"))
}

func (p *planner) settings() {
	set := func(id, value string, s Sentence) { p.plan.Settings = append(p.plan.Settings, Setting{id, value, s}) }
	s := p.System
	if s.HeatPump {
		set("kind", "heat-pump", say("set-heat-pump"))
		t, _ := p.terminalFor(ReversingValve)
		way := "cooling"
		if s.ValveInHeat {
			way = "heating"
		}
		if t.Has(ReverseSet) {
			set("reversing-valve", way, say("set-reversing", word("way", "mode-"+way)))
		}
	} else {
		set("kind", "conventional", say("set-conventional"))
	}
	p.stages(set)
	switch {
	case s.HeatPump && s.BackupFossil:
		set("backup", "fossil", say("set-backup-fossil"))
	case s.HeatPump && s.has(Auxiliary):
		set("backup", "electric", say("set-backup-electric"))
	case s.FanWithHeat:
		set("fan", "electric", say("set-fan-electric"))
	case s.has(Heat) && s.has(Blower):
		set("fan", "fossil", say("set-fan-fossil"))
	}
}

// stages sets what the new base has terminals and conductors for.
func (p *planner) stages(set func(id, value string, s Sentence)) {
	stages := func(first, second LoadID) int {
		n := 0
		for _, id := range []LoadID{first, second} {
			if p.System.has(id) && slices.ContainsFunc(p.plan.Moves, func(m Move) bool { return m.To != "" && (m.End.Load == id || m.End.Kind == RelayEnd && id == Heat) }) {
				n++
			}
		}
		return n
	}
	if n := stages(Compressor, Compressor2); n > 0 {
		set("cooling-stages", fmt.Sprint(n), say("set-cooling-stages", count("stages", n)))
	}
	if n := stages(Heat, HeatSecond); n > 0 {
		set("heat-stages", fmt.Sprint(n), say("set-heat-stages", count("stages", n)))
	}
}

// prove lists what must be tried, in the order of a proof: the transformers,
// cooling, heating, fan, auxiliary heat.
func (p *planner) prove(d *draft) {
	add := func(call Call, s Sentence, loads []LoadID, cautions ...string) {
		p.plan.Proof = append(p.plan.Proof, Proof{call, Step{s, cautions}, loads})
	}
	add("", say("proof-power"), nil, "control-near-line")
	for _, out := range p.plan.After {
		if len(out.Served) == 0 && out.Call != Off {
			continue
		}
		switch out.Call {
		case CoolLow, CoolHigh:
			add(out.Call, say("proof-cool", callWord(out.Call)), out.Served, "moving-fan")
		case HeatLow, HeatHigh, HeatBackup, HeatEmergency:
			add(out.Call, say("proof-heat", callWord(out.Call)), out.Served, "heat-source")
		case Off:
			add(out.Call, say("proof-off"), nil)
		default:
			add(out.Call, say("proof-other", callWord(out.Call)), out.Served)
		}
	}
	if p.apart() {
		add("", say("proof-apart"), nil, "control-near-line")
	}
}
