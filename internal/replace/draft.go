package replace

import (
	"maps"
	"slices"
)

// draft is a plan in the making, with its wiring.
type draft struct {
	w         wiring
	moves     []Move
	carried   map[LoadID]bool
	equipment []Step
	losses    []Loss
	remedy    string
}

func (d *draft) clone() *draft {
	c := *d
	c.moves = slices.Clone(d.moves)
	c.equipment = slices.Clone(d.equipment)
	c.losses = slices.Clone(d.losses)
	c.carried = maps.Clone(d.carried)
	c.w.paths = slices.Clone(d.w.paths)
	return &c
}

// lost says whether the draft gives a load up on a call.
func (d *draft) lost(c Call, id LoadID) bool {
	return slices.ContainsFunc(d.losses, func(l Loss) bool {
		return l.Load == id && (len(l.Calls) == 0 || slices.Contains(l.Calls, c))
	})
}

// sync rebuilds the paths of the wiring from the moves.
func (d *draft) sync() {
	d.w.paths = nil
	for _, m := range d.moves {
		d.w.paths = append(d.w.paths, path{m.Conductor.ID, m.To, m.End})
	}
}

// spare returns a conductor that may be landed elsewhere at the equipment.
func (d *draft) spare() (int, bool) {
	for i, m := range d.moves {
		if m.To == "" && m.End.Kind == FreeEnd {
			return i, true
		}
	}
	return 0, false
}

// of returns the first move of the conductor that serves a load.
func (d *draft) of(id LoadID) (int, bool) {
	i := slices.IndexFunc(d.moves, func(m Move) bool { return m.End.Kind == LoadEnd && m.End.Load == id && m.To != "" })
	return i, i >= 0
}

// giveUp records a loss once.
func (d *draft) giveUp(id LoadID, why Sentence, calls ...Call) {
	if !slices.ContainsFunc(d.losses, func(l Loss) bool { return l.Load == id && len(l.Calls) == 0 }) {
		d.losses = append(d.losses, Loss{id, calls, why})
	}
}

// dispensable are the loads without which a house is still heated and cooled.
func dispensable(id LoadID) bool {
	switch id {
	case Compressor2, HeatSecond, EmergencyRelay, Humidifier:
		return true
	}
	return false
}

// terminalFor returns the terminal of the new base that serves a load.
func (p *planner) terminalFor(id LoadID) (Terminal, bool) {
	b := &p.New
	switch id {
	case Compressor:
		return b.with(Cool1)
	case Compressor2:
		return b.with(Cool2)
	case Blower:
		return b.with(Fan)
	case Heat:
		return b.with(Heat1)
	case HeatSecond:
		return b.with(Heat2)
	case Auxiliary:
		return b.backup()
	case EmergencyRelay:
		return b.with(Emergency)
	case Humidifier:
		return b.with(Humidify)
	case ReversingValve:
		fixed := ReverseCool
		if p.System.ValveInHeat {
			fixed = ReverseHeat
		}
		if t, ok := b.with(fixed); ok {
			return t, true
		}
		return b.with(ReverseSet)
	}
	return Terminal{}, false
}

// draft places the conductors of loads, power and common, and refuses what
// cannot be done.
func (p *planner) draft() *draft {
	d := &draft{carried: maps.Clone(p.carried), w: wiring{sys: p.System, base: p.New, set: p.set, joined: p.Joined}}
	for _, w := range p.wires {
		d.moves = append(d.moves, Move{Conductor: w.Conductor, End: w.end, Assumed: w.assumed, Why: say("move-capped")})
	}
	p.placeLoads(d)
	if p.stop() {
		return d
	}
	p.placeMissing(d)
	if p.stop() {
		return d
	}
	p.placePower(d)
	if p.stop() {
		return d
	}
	p.placeHumidifier(d)
	d.sync()
	p.placeCommon(d)
	d.sync()
	return d
}

func (p *planner) placeLoads(d *draft) {
	for i := range d.moves {
		m := &d.moves[i]
		switch m.End.Kind {
		case SignalEnd:
			if t, ok := p.New.with(FaultLamp); ok {
				m.To, m.Why = t.Mark, say("move-lamp", given("to", t.Mark))
			} else {
				m.Why = say("move-lamp-capped")
			}
		case FreeEnd:
			m.Why = say("move-spare")
		case UnknownEnd:
			m.Why = say("move-untraced")
		case LoadEnd:
			p.placeLoad(d, m)
		}
	}
}

func (p *planner) placeLoad(d *draft, m *Move) {
	id := m.End.Load
	t, ok := p.terminalFor(id)
	switch {
	case ok:
		m.To, m.Why = t.Mark, say("move-load", word("load", string(id)), given("to", t.Mark))
	case dispensable(id):
		m.Why = say("move-given-up", word("load", string(id)))
		d.giveUp(id, lossOf(id))
	case id == Auxiliary && p.New.hasHeat():
		p.refuse(say("refuse-aux-unclear"))
	default:
		p.refuse(say("refuse-no-terminal", word("load", string(id)), word("role", "terminal-for-"+string(id))))
	}
}

// lossOf says what giving up a load means.
func lossOf(id LoadID) Sentence {
	switch id {
	case Compressor2:
		return say("loss-second-cooling")
	case HeatSecond:
		return say("loss-second-heat")
	case EmergencyRelay:
		return say("loss-emergency")
	}
	return say("loss-humidifier")
}

// placeMissing sees to loads that no conductor reaches: a spare one can, or
// they are given up, or the plan is refused.
func (p *planner) placeMissing(d *draft) {
	for _, l := range p.System.Loads {
		if d.carried[l.ID] {
			continue
		}
		t, ok := p.terminalFor(l.ID)
		i, free := d.spare()
		switch {
		case ok && free && !dispensable(l.ID):
			m := &d.moves[i]
			m.To, m.End, m.Landed = t.Mark, End{Kind: LoadEnd, Load: l.ID}, true
			m.Why = say("move-spare-to-load", word("load", string(l.ID)), given("to", t.Mark))
			d.carried[l.ID] = true
			d.equipment = append(d.equipment, Step{say("equipment-land", given("conductor", m.Conductor.name()), word("load", string(l.ID))), []string{"prove-dead", "control-near-line"}})
		case dispensable(l.ID), l.ID == Blower && !p.System.has(Compressor):
			p.plan.Findings = append(p.plan.Findings, Step{Sentence: say("found-never-wired", word("load", string(l.ID)))})
		default:
			p.refuse(say("refuse-missing-conductor", word("load", string(l.ID))))
		}
	}
}

// placePower lands the conductors that bring power.
func (p *planner) placePower(d *draft) {
	carried := func(id LoadID) bool { return d.carried[id] }
	cool, oneCool := p.System.feeds(false, carried)
	heat, oneHeat := p.System.feeds(true, carried)
	switch {
	case !oneCool || !oneHeat:
		p.refuse(say("refuse-mixed-transformers"))
	case cool == "" && heat == "":
		p.refuse(say("refuse-nothing"))
	case cool == "" || heat == "" || cool == heat:
		p.placeOnePower(d, max(cool, heat))
	case p.New.twoPowers() && p.New.Link != FixedLink:
		p.placeTwoPowers(d, cool, heat)
	default:
		p.placeRelay(d, cool, heat)
	}
}

// powerFrom returns the conductors that bring power from a transformer.
func (d *draft) powerFrom(id SourceID) (places []int) {
	for i, m := range d.moves {
		if m.End.Kind == PowerEnd && m.End.Source == id {
			places = append(places, i)
		}
	}
	return places
}

// placeOnePower lands one conductor and frees others from the same transformer.
func (p *planner) placeOnePower(d *draft, id SourceID) {
	from := d.powerFrom(id)
	t, ok := p.New.power(p.New.SupplyFrom == PowerHeat)
	if len(from) == 0 || !ok {
		p.refuse(say("refuse-no-power"))
		return
	}
	d.moves[from[0]].To = t.Mark
	d.moves[from[0]].Why = say("move-power", given("to", t.Mark))
	for _, i := range from[1:] {
		d.moves[i].End, d.moves[i].Landed = End{Kind: FreeEnd}, true
		d.moves[i].Why = say("move-power-second")
	}
	for i, m := range d.moves {
		if m.End.Kind == PowerEnd && m.End.Source != id {
			d.moves[i].Why = say("move-power-other")
		}
	}
	if p.New.twoPowers() && p.New.Link != FixedLink {
		d.w.linkIn = true
	}
}

func (p *planner) placeTwoPowers(d *draft, cool, heat SourceID) {
	for _, side := range []struct {
		id   SourceID
		heat bool
		why  string
	}{{cool, false, "move-power-cool"}, {heat, true, "move-power-heat"}} {
		from := d.powerFrom(side.id)
		t, ok := p.New.power(side.heat)
		if len(from) == 0 || !ok {
			p.refuse(say("refuse-no-power"))
			return
		}
		d.moves[from[0]].To = t.Mark
		d.moves[from[0]].Why = say(side.why, given("to", t.Mark))
	}
}

// placeRelay lets a base with one power terminal switch a second transformer
// through an isolating relay at the equipment.
func (p *planner) placeRelay(d *draft, cool, heat SourceID) {
	w, hasHeat := d.of(Heat)
	source, _ := p.System.source(cool)
	from := d.powerFrom(cool)
	t, ok := p.New.power(false)
	_, second := d.of(HeatSecond)
	switch {
	case !hasHeat || second || p.System.HeatPump || !source.Common || len(from) == 0 || !ok:
		p.refuse(say("refuse-one-power"))
		return
	}
	d.w.relay = &relay{coil: cool, contact: heat, load: Heat}
	d.moves[from[0]].To = t.Mark
	d.moves[from[0]].Why = say("move-power", given("to", t.Mark))
	for _, i := range d.powerFrom(heat) {
		d.moves[i].Why = say("move-power-relay")
	}
	m := &d.moves[w]
	m.End, m.Landed = End{Kind: RelayEnd}, true
	m.Why = say("move-relay-coil", given("to", m.To))
	d.equipment = append(d.equipment, Step{say("equipment-relay", given("conductor", m.Conductor.name())), []string{"prove-dead", "control-near-line"}})
	if p.New.Link != FixedLink && p.New.twoPowers() {
		d.w.linkIn = true
	}
}

// placeHumidifier gives up a humidifier that hangs on the transformer that does
// not feed its terminal.
func (p *planner) placeHumidifier(d *draft) {
	i, ok := d.of(Humidifier)
	l, _ := p.System.Load(Humidifier)
	t, fed := p.New.power(true)
	if !ok || !fed {
		return
	}
	d.sync()
	if id, known := d.w.sourceAt(t.Mark); known && id == l.Source {
		return
	}
	d.moves[i].To, d.moves[i].Why = "", say("move-given-up", word("load", string(Humidifier)))
	d.giveUp(Humidifier, say("loss-humidifier-transformer"))
}

// placeCommon lands a conductor that is a common already.
func (p *planner) placeCommon(d *draft) {
	c, has := p.New.with(Common)
	supply, known := d.w.sourceAt(d.w.supplyMark())
	for i := range d.moves {
		m := &d.moves[i]
		if m.End.Kind != CommonEnd {
			continue
		}
		switch {
		case !has || p.New.Supply == NoSupply:
			m.Why = say("move-common-unused")
		case !known || m.End.Source != supply:
			m.Why = say("move-common-wrong")
		case d.remedy == "present":
			m.Why = say("move-common-second")
		default:
			m.To, m.Why, d.remedy = c.Mark, say("move-common", given("to", c.Mark)), "present"
		}
	}
}
