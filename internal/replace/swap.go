package replace

import (
	"fmt"
	"slices"
)

// Conductor is one wire of the thermostat cable.
type Conductor struct {
	ID     string // "1", or the colour if that tells it from the others
	Colour string // as seen; decides nothing
	At     string // mark of the old terminal; empty: not connected there
	To     End    // at the equipment; UnknownEnd if it was not traced
}

// Swap is a change of thermostat: everything that was seen.
type Swap struct {
	System     System
	Old        Base
	Conductors []Conductor
	New        Base
	Joined     [][2]LoadID // loads joined at the equipment, such as Y and G on the board
}

// Move says where a conductor goes.
type Move struct {
	Conductor Conductor
	To        string // mark of the new terminal; empty: capped
	End       End    // at the equipment, as it will be
	Assumed   bool   // the end was not traced but concluded from the old letter
	Landed    bool   // the end at the equipment changes
	Why       Sentence
}

// Loss is something that the house could do before and will not do after.
type Loss struct {
	Load  LoadID
	Calls []Call
	Why   Sentence
}

// Proof is a call to be tried after the change.
type Proof struct {
	Call  Call // empty: a reading with the meter
	Step  Step
	Loads []LoadID // that must run
}

// Setting is something to set on the new base.
type Setting struct {
	ID    string
	Value string
	Says  Sentence
}

// Plan is how to change a thermostat, or why not.
type Plan struct {
	Refusals  []Sentence // with any of these there is no plan
	Findings  []Step     // what is wrong with the old wiring
	Moves     []Move
	Link      string   // what to do with the jumper between Rc and Rh: "in", "out" or empty
	Remedy    string   // how the electronics live: "present", "spare", "battery" …
	Others    []string // other remedies that would do
	Equipment []Step   // what to change at the equipment
	Losses    []Loss   // to be agreed before the work begins
	Steps     []Step   // all of it, in order
	Settings  []Setting
	Proof     []Proof
	After     []Outcome // what each call will do
}

// Accepted says whether there is a plan.
func (p *Plan) Accepted() bool { return len(p.Refusals) == 0 }

// Thermostat plans a change of thermostat wire by wire. A plan that is accepted
// has been tried on the model: each call energises what it must and nothing
// else, apart from the losses it names, and never joins two transformers.
//
// An error is an *InputError: what was told contradicts itself.
func Thermostat(s Swap) (Plan, error) {
	if err := s.check(); err != nil {
		return Plan{}, err
	}
	p := &planner{Swap: s, set: settingsFor(s.System)}
	if p.refuseKinds(); p.stop() {
		return p.plan, nil
	}
	if p.trace(); p.stop() {
		return p.plan, nil
	}
	p.lookBack()
	d := p.draft()
	if p.stop() {
		return p.plan, nil
	}
	chosen, ok := p.choose(d)
	if !ok {
		return p.plan, nil
	}
	p.finish(chosen)
	return p.plan, nil
}

func (s *Swap) check() error {
	if err := s.System.check(); err != nil {
		return err
	}
	if err := s.Old.check("old base"); err != nil {
		return err
	}
	if err := s.New.check("new base"); err != nil {
		return err
	}
	seen := map[string]bool{}
	for _, c := range s.Conductors {
		if seen[c.ID] {
			return &InputError{"conductor " + c.ID, "told twice"}
		}
		seen[c.ID] = true
		if c.At != "" && !s.Old.marked(c.At) {
			return &InputError{"conductor " + c.ID, fmt.Sprintf("the old base has no terminal %s", c.At)}
		}
		if _, known := s.System.source(c.To.Source); !known && (c.To.Kind == PowerEnd || c.To.Kind == CommonEnd) {
			return &InputError{"conductor " + c.ID, fmt.Sprintf("there is no transformer %q", c.To.Source)}
		}
		if c.To.Kind == LoadEnd && !s.System.has(c.To.Load) {
			return &InputError{"conductor " + c.ID, fmt.Sprintf("the system has no %s", Word(string(c.To.Load), "en"))}
		}
	}
	return nil
}

// planner works a swap out.
type planner struct {
	Swap
	set     Settings
	wires   []wire
	carried map[LoadID]bool // loads that a conductor reaches
	plan    Plan
}

// wire is a conductor with its end, traced or concluded.
type wire struct {
	Conductor
	end     End
	assumed bool
}

func (p *planner) refuse(s Sentence) { p.plan.Refusals = append(p.plan.Refusals, s) }
func (p *planner) stop() bool        { return len(p.plan.Refusals) > 0 }

// refuseKinds turns away what this model does not hold for.
func (p *planner) refuseKinds() {
	for _, c := range []Control{p.System.Control, p.Old.Control, p.New.Control} {
		switch c {
		case Communicating:
			p.refuse(say("refuse-communicating"))
			return
		case LineVoltage:
			p.refuse(say("refuse-line-voltage"))
			return
		case Millivolt:
			p.refuse(say("refuse-millivolt"))
			return
		}
	}
	switch {
	case p.System.HeatPump && !p.New.HeatPump:
		p.refuse(say("refuse-heat-pump-mode"))
	case !p.System.HeatPump && !p.New.Conventional:
		p.refuse(say("refuse-conventional-mode"))
	case p.System.BackupFossil && !p.New.DualFuel:
		p.refuse(say("refuse-dual-fuel"))
	case p.System.FanWithHeat && !p.System.HeatPump && !p.New.FanWithHeat:
		p.refuse(say("refuse-fan-with-heat"))
	}
}

// trace concludes the ends that were not traced from the old letters, where a
// letter leaves no doubt.
func (p *planner) trace() {
	for _, c := range p.Conductors {
		w := wire{Conductor: c, end: c.To}
		if c.To.Kind == UnknownEnd {
			if c.At == "" {
				// Not connected here and not traced: it may hang on anything there.
				w.end = End{Kind: UnknownEnd}
			} else {
				end, ok := p.conclude(c)
				if !ok {
					p.refuse(say("refuse-trace", given("conductor", c.name()), given("terminal", c.At)))
					continue
				}
				w.end, w.assumed = end, true
			}
		}
		p.wires = append(p.wires, w)
	}
	p.carried = map[LoadID]bool{}
	for _, w := range p.wires {
		if w.end.Kind == LoadEnd {
			p.carried[w.end.Load] = true
		}
	}
	for range p.Joined { // joints may follow one another
		for _, j := range p.Joined {
			if p.carried[j[0]] || p.carried[j[1]] {
				p.carried[j[0]], p.carried[j[1]] = true, true
			}
		}
	}
}

// name says which conductor is meant.
func (c Conductor) name() string {
	if c.Colour != "" && c.Colour != c.ID {
		return c.ID + " (" + c.Colour + ")"
	}
	return c.ID
}

// conclude returns the end of a conductor from the letter of its old terminal.
func (p *planner) conclude(c Conductor) (End, bool) {
	i := slices.IndexFunc(p.Old.Terminals, func(t Terminal) bool { return t.Mark == c.At })
	if i < 0 || ambiguous[c.At] && !p.plainB(c.At) {
		return End{}, false
	}
	for _, r := range p.Old.Terminals[i].Roles {
		if end, ok := p.endOf(r); ok {
			return end, true
		}
	}
	return End{}, false
}

// plainB: on a heat pump whose valve is energised in heating, and with no
// conductor at O, B can be nothing but the valve.
func (p *planner) plainB(mark string) bool {
	if mark != "B" || !p.System.HeatPump || !p.System.ValveInHeat {
		return false
	}
	return !slices.ContainsFunc(p.Conductors, func(c Conductor) bool { return c.At == "O" || c.At == "O/B" })
}

// endOf returns where the conductor of a role is landed, if only one place will do.
func (p *planner) endOf(r Role) (End, bool) {
	s := p.System
	load := func(id LoadID) (End, bool) { return End{Kind: LoadEnd, Load: id}, s.has(id) }
	switch r {
	case Power:
		return End{Kind: PowerEnd, Source: s.Sources[0].ID}, len(s.Sources) == 1
	case Common:
		return End{Kind: CommonEnd, Source: s.Sources[0].ID}, len(s.Sources) == 1
	case PowerCool, PowerHeat:
		id, one := s.feeds(r == PowerHeat, func(LoadID) bool { return true })
		if id == "" && len(s.Sources) == 1 {
			id = s.Sources[0].ID
		}
		return End{Kind: PowerEnd, Source: id}, one && id != ""
	case Cool1:
		return load(Compressor)
	case Cool2:
		return load(Compressor2)
	case Fan:
		return load(Blower)
	case ReverseCool, ReverseHeat, ReverseSet:
		return load(ReversingValve)
	case Heat1:
		if s.HeatPump {
			return load(Auxiliary)
		}
		return load(Heat)
	case Heat2:
		if s.HeatPump {
			return load(Auxiliary)
		}
		return load(HeatSecond)
	case Backup:
		return load(Auxiliary)
	case Humidify:
		return load(Humidifier)
	case FaultLamp:
		return End{Kind: SignalEnd}, true
	}
	return End{}, false
}

// oldWiring is the base that hangs there now.
func (p *planner) oldWiring() wiring {
	w := wiring{sys: p.System, base: p.Old, set: p.set, linkIn: p.Old.LinkIn, jumpers: p.Old.Jumpers, joined: p.Joined}
	for _, x := range p.wires {
		w.paths = append(w.paths, path{x.ID, x.At, x.end})
	}
	return w
}

// lookBack finds what is wrong with the old wiring.
func (p *planner) lookBack() {
	old := p.oldWiring()
	seen := map[string]bool{}
	find := func(key string, s Sentence, cautions ...string) {
		if !seen[key] {
			seen[key] = true
			p.plan.Findings = append(p.plan.Findings, Step{s, cautions})
		}
	}
	for _, f := range old.flaws(p.carried, func(Call, LoadID) bool { return false }) {
		switch f.what {
		case "tied":
			find("tied", say("found-tied"), "control-near-line")
		case "shorted":
			find("shorted", say("found-shorted"), "fuse-size")
		case "crossed":
			find("crossed"+string(f.load), say("found-crossed", word("load", string(f.load))))
		case "not-served":
			find("un"+string(f.load), say("found-not-served", word("load", string(f.load)), callWord(f.call)))
		case "should-be-off":
			find("on"+string(f.load)+string(f.call), say("found-on", word("load", string(f.load)), callWord(f.call)))
		}
	}
}
