package replace

// How the electronics of a base can live, by id, the best first.
const (
	remedyNone    = "none-needed"
	remedyPresent = "present"
	remedySpare   = "spare"
	remedyBattery = "battery"
	remedyAdapter = "adapter"
	remedyThrough = "through-load"
	remedyPlugIn  = "plug-in"
	remedyShare   = "share-fan"
)

// remedy changes a draft so that the electronics live; false if it does not apply.
type remedy struct {
	id    string
	apply func(*planner, *draft) bool
}

// remedies lists them, the best first: what changes nothing else, then what the
// maker provides, then what costs a function of the house.
var remedies = []remedy{
	{remedyNone, func(p *planner, _ *draft) bool { return p.New.Supply == NoSupply || p.New.Supply == "" }},
	{remedyPresent, func(_ *planner, d *draft) bool { return d.remedy == remedyPresent }},
	{remedySpare, (*planner).useSpare},
	{remedyBattery, func(p *planner, _ *draft) bool { return p.New.Supply == OrBattery }},
	{remedyAdapter, (*planner).useAdapter},
	{remedyThrough, func(p *planner, _ *draft) bool { return p.New.Supply == OrThroughOff }},
	{remedyPlugIn, (*planner).usePlugIn},
	{remedyShare, (*planner).shareFan},
}

// choose returns the first remedy that passes the trial on the model, and
// records the others that would.
func (p *planner) choose(d *draft) (*draft, bool) {
	var chosen *draft
	for _, r := range remedies {
		try := d.clone()
		if !r.apply(p, try) {
			continue
		}
		try.remedy = r.id
		if !p.passes(try) {
			continue
		}
		if chosen == nil {
			chosen = try
		} else if r.id != remedyNone {
			p.plan.Others = append(p.plan.Others, r.id)
		}
		if r.id == remedyNone || r.id == remedyPresent {
			break // nothing to be gained by another
		}
	}
	if chosen != nil {
		return chosen, true
	}
	if flaws := d.w.flaws(d.carried, d.lost); len(flaws) > 0 {
		f := flaws[0]
		p.refuse(say("refuse-trial", word("flaw", "flaw-"+f.what), word("load", string(f.load)), callWord(f.call)))
		return nil, false
	}
	p.refuse(say("refuse-no-common"))
	return nil, false
}

// passes tries every call on the model.
func (p *planner) passes(d *draft) bool {
	if len(d.w.flaws(d.carried, d.lost)) > 0 {
		return false
	}
	switch d.remedy {
	case remedyNone, remedyBattery, remedyThrough:
		return true
	}
	for _, c := range p.System.Calls() {
		if !d.w.simulate(c).Powered {
			return false
		}
	}
	return true
}

// commonAt returns the transformer whose common the electronics want, if it can
// be reached.
func (p *planner) commonAt(d *draft) (SourceID, string, bool) {
	c, has := p.New.with(Common)
	id, known := d.w.sourceAt(d.w.supplyMark())
	s, _ := p.System.source(id)
	return id, c.Mark, has && known && s.Common
}

func (p *planner) useSpare(d *draft) bool {
	id, mark, ok := p.commonAt(d)
	i, free := d.spare()
	if !ok || !free || d.remedy == remedyPresent {
		return false
	}
	m := &d.moves[i]
	m.To, m.End, m.Landed = mark, End{Kind: CommonEnd, Source: id}, true
	m.Why = say("move-spare-common", given("to", mark))
	d.equipment = append(d.equipment, landCommon(m.Conductor, id))
	d.sync()
	return true
}

func landCommon(c Conductor, id SourceID) Step {
	return Step{say("equipment-common", given("conductor", c.name()), given("transformer", id)), []string{"prove-dead", "control-near-line"}}
}

// useAdapter lets the conductor of Y carry G as well, by the maker's adapter,
// and makes the conductor of G the common.
func (p *planner) useAdapter(d *draft) bool {
	id, mark, ok := p.commonAt(d)
	y, hasY := d.of(Compressor)
	g, hasG := d.of(Blower)
	if !p.New.Adapter || !ok || !hasY || !hasG {
		return false
	}
	fan := d.moves[g]
	p.landFanAsCommon(d, g, id, mark, "move-adapter-common")
	d.moves[y].Why = say("move-adapter", given("to", d.moves[y].To), given("fan", fan.To))
	d.equipment = append(d.equipment, Step{say("equipment-adapter"), []string{"prove-dead", "control-near-line"}})
	d.sync()
	d.w.paths = append(d.w.paths, path{d.moves[y].Conductor.ID, fan.To, fan.End})
	return true
}

// shareFan joins Y and G at the board, so that the conductor of G becomes the
// common. The fan no longer runs alone.
func (p *planner) shareFan(d *draft) bool {
	id, mark, ok := p.commonAt(d)
	_, hasY := d.of(Compressor)
	g, hasG := d.of(Blower)
	if !ok || !hasY || !hasG {
		return false
	}
	p.landFanAsCommon(d, g, id, mark, "move-share-common")
	d.w.joined = append(append([][2]LoadID{}, d.w.joined...), [2]LoadID{Compressor, Blower})
	d.giveUp(Blower, say("loss-fan-alone"), FanOnly)
	d.equipment = append(d.equipment, Step{say("equipment-share"), []string{"prove-dead", "control-near-line"}})
	d.sync()
	return true
}

func (p *planner) landFanAsCommon(d *draft, g int, id SourceID, mark, why string) {
	m := &d.moves[g]
	m.To, m.End, m.Landed = mark, End{Kind: CommonEnd, Source: id}, true
	m.Why = say(why, given("to", mark))
	d.equipment = append(d.equipment, landCommon(m.Conductor, id))
}

// usePlugIn feeds the electronics from a transformer of their own, which must
// not meet the system's: only where one of two power terminals is free.
func (p *planner) usePlugIn(d *draft) bool {
	_, hasCommon := p.New.with(Common)
	if !hasCommon || !p.New.twoPowers() || p.New.Link == FixedLink || d.remedy == remedyPresent {
		return false
	}
	supply := d.w.supplyMark()
	other, _ := p.New.power(p.New.SupplyFrom != PowerHeat)
	for i := range d.moves {
		m := &d.moves[i]
		if m.To == supply && m.End.Kind == PowerEnd {
			m.To, m.Why = other.Mark, say("move-power", given("to", other.Mark))
		}
	}
	d.w.linkIn, d.w.plugIn = false, true
	d.sync()
	return true
}
