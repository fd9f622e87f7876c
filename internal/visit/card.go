package visit

import (
	"context"
	"fmt"
	"math"
	"slices"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/record"
	"rung/internal/tradeunit"
)

// Card returns one check with what each point should show. Without a demand it
// is the first at which the check can be read.
func (s *Service) Card(ctx context.Context, visit record.VisitID, check, demand string) (Card, error) {
	_, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return Card{}, err
	}
	c, err := s.check(check)
	if err != nil {
		return Card{}, err
	}
	d, err := s.desk(ctx, here, LanguageOf(ctx))
	if err != nil {
		return Card{}, err
	}
	at, err := d.demandFor(c, demand)
	if err != nil {
		return Card{}, err
	}
	card := d.card(c, at)
	return card, d.expectAll(&card)
}

// Checks lists every check of the system, without what its points should show.
func (s *Service) Checks(ctx context.Context, visit record.VisitID) ([]Card, error) {
	_, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return nil, err
	}
	d := s.lay(here, LanguageOf(ctx))
	var list []Card
	for i := range s.checks().Checks {
		c := &s.checks().Checks[i]
		if demands := d.demandsOf(c); len(demands) > 0 {
			list = append(list, d.card(c, diagnosis.Demand(demands[0].ID)))
		}
	}
	return list, nil
}

// demandsOf lists the demands at which this system has a point of the check.
func (d *desk) demandsOf(c *fieldtest.Check) []Choice {
	var list []Choice
	for _, x := range []plant.Demand{plant.Cool, plant.Off, plant.Fan, plant.Heat} {
		if len(d.pointsAt(c, x)) > 0 {
			list = append(list, d.choice("demand", x.String()))
		}
	}
	return list
}

// pointsAt lists the points of a check that this system has at a demand.
func (d *desk) pointsAt(c *fieldtest.Check, demand plant.Demand) []*fieldtest.Point {
	var list []*fieldtest.Point
	for i := range c.Points {
		if p := &c.Points[i]; d.reads(p, c.ID, demand) {
			list = append(list, p)
		}
	}
	return list
}

// card describes a check at a demand, without what its points should show.
func (d *desk) card(c *fieldtest.Check, demand diagnosis.Demand) Card {
	card := Card{
		Check: c.ID, Name: d.text(c.Name), Minutes: c.Minutes, Power: string(c.Power), Instrument: d.text(c.Instrument), Measures: d.text(c.Measures),
		Where: d.text(c.Where), Demand: d.choice("demand", string(demand)), Demands: d.demandsOf(c),
	}
	cautions := d.setup(&card, c)
	for _, step := range c.Steps {
		card.Steps = append(card.Steps, Step{Text: d.text(step.Text), Cautions: d.cautions(step.Cautions)})
		cautions = append(cautions, step.Cautions...)
	}
	card.Cautions = d.cautions(cautions)
	at, err := plant.ParseDemand(string(demand))
	if err != nil {
		return card // a demand that no point has
	}
	for _, p := range d.pointsAt(c, at) {
		card.Points = append(card.Points, d.cardPoint(c, p, demand))
		if p.Settle > 0 {
			card.AskSettled = d.say("settled-word", "minutes", d.inMinutes(p.Settle))
		}
	}
	for _, r := range d.Visit.Refusals {
		if r.Check == c.ID && r.Epoch == d.Visit.Epoch() {
			card.Refused = d.choice("refusal", r.Why).Name
		}
	}
	return card
}

// setup lists what has to be switched first, and returns its cautions.
func (d *desk) setup(card *Card, c *fieldtest.Check) (cautions []string) {
	for _, id := range c.Without {
		if st, known := d.checks.Setup(id); known && slices.Contains(d.c.Setup, id) {
			card.Setup = append(card.Setup, d.say("undo", "setup", d.lower(d.text(st.Name))))
			card.SetUp += st.Undo
		}
	}
	for _, id := range c.Needs {
		st, known := d.checks.Setup(id)
		if !known || slices.Contains(d.c.Setup, id) {
			continue
		}
		card.Setup = append(card.Setup, d.text(st.Name)+". "+d.text(st.Step))
		card.SetUp += st.Minutes
		cautions = append(cautions, st.Cautions...)
	}
	return cautions
}

// cautions returns the texts of cautions, each once.
func (d *desk) cautions(ids []string) []string {
	var list []string
	for _, id := range ids {
		if c, known := d.checks.Caution(id); known && !slices.Contains(list, d.text(c.Text)) {
			list = append(list, d.text(c.Text))
		}
	}
	return list
}

func (d *desk) cardPoint(c *fieldtest.Check, p *fieldtest.Point, demand diagnosis.Demand) CardPoint {
	point := CardPoint{Point: p.ID, Name: d.text(p.Name), Dim: p.Dim, Unit: p.Unit, OL: p.Meter.OpenAtTop}
	if p.Words == nil {
		point.Units = tradeunit.Symbols(p.Dim)
	}
	for i, w := range p.Words {
		point.Words = append(point.Words, Choice{w, d.wordOf(p, i)})
	}
	for epoch := d.Visit.Epoch(); epoch >= 0 && point.Before == ""; epoch-- {
		if r, known := d.Visit.Latest(c.ID, p.ID, string(demand), epoch); known {
			point.Before = d.showing(p, r)
			point.BeforeRepair = epoch < d.Visit.Epoch()
		}
	}
	return point
}

// expectAll fills in what the points of a card should show.
func (d *desk) expectAll(card *Card) error {
	for i := range card.Points {
		ref := diagnosis.Ref{Check: card.Check, Point: card.Points[i].Point, Demand: diagnosis.Demand(card.Demand.ID)}
		p, known := d.point(ref)
		if !known {
			continue
		}
		if d.blindTo(p, ref) {
			card.Unpredicted = d.say("unpredicted")
			continue
		}
		if !modelled(p) {
			card.Points[i].Expect = []Expect{{Cause: Healthy, If: d.causeName(Healthy), Shows: d.wordOf(p, 0), words: []int{0}}}
			continue
		}
		all, err := d.cardOf(p, ref)
		if err != nil {
			return fmt.Errorf("card of %s: %w", card.Check, err)
		}
		for _, x := range all {
			card.Points[i].Expect = append(card.Points[i].Expect, d.expect(p, x))
		}
	}
	return nil
}

// modelled reports whether a point is predicted at all. One that is not is
// sound by its first word.
func modelled(p *fieldtest.Point) bool { return p.When != fieldtest.HeatSource }

// leastShare is the probability below which an outcome is not worth a word.
// practice: one in seven.
const leastShare = 0.15

// expect says what a point should show under a cause.
func (d *desk) expect(p *fieldtest.Point, x diagnosis.Expectation) Expect {
	e := Expect{Cause: x.Cause, If: d.causeName(x.Cause)}
	var shows []string
	switch {
	case p.Words != nil:
		for i, share := range x.Words {
			if share >= leastShare {
				e.words = append(e.words, i)
				shows = append(shows, d.wordOf(p, i))
			}
		}
	case x.ValueShare >= leastShare:
		e.Number, e.Low, e.High = true, x.Range.Low, x.Range.High
		shows = append(shows, d.rangeOf(p, x.Range.Low, x.Range.High))
	}
	if x.NotReadableShare >= leastShare {
		e.unreadable = true
		shows = append(shows, d.phrase("not-readable"))
	}
	e.Shows = d.orList(shows)
	return e
}

// fineness is how finely a range is printed, as a part of its width.
// practice: digits beyond that are noise to the reader.
const fineness = 10

// rangeOf prints a range of a point in its own unit, within what its meter can
// show.
func (d *desk) rangeOf(p *fieldtest.Point, low, high float64) string {
	m := p.Meter
	if m.OpenAtTop && low+high >= m.High {
		return overload
	}
	low, high = max(low, m.Low), min(high, m.High)
	return d.between(low, high, p.Dim, p.Unit, max(m.Resolution, (high-low)/fineness), d.ambient)
}

// suggested returns the card of a check that the engine proposes.
func (d *desk) suggested(n diagnosis.Suggestion) (Card, error) {
	c, known := d.checks.Check(n.Check)
	if !known {
		return Card{}, fmt.Errorf("advise: proposed check %q is not in the catalogue", n.Check)
	}
	card := d.card(c, n.Demand)
	card.Minutes, card.SetUp, card.Why = n.CheckMinutes, n.SetupMinutes, d.whyNext(n)
	for _, b := range n.Outcomes {
		if text := d.branch(b); text != "" {
			card.Outcomes = append(card.Outcomes, text)
		}
	}
	return card, d.expectAll(&card)
}

// mostRemain is how many causes an outcome names. practice: more is not read.
const mostRemain = 2

// branch says what one outcome of a check would leave standing.
func (d *desk) branch(b diagnosis.Branch) string {
	p, known := d.point(b.Ref)
	if !known || b.Probability < leastShare/3 || len(b.Remain) == 0 {
		return ""
	}
	var outcome string
	switch {
	case b.Kind == diagnosis.IsNotReadable:
		outcome = d.phrase("not-readable")
	case b.Kind == diagnosis.IsWord:
		outcome = d.wordOf(p, b.Word)
	case math.IsInf(b.Low, -1) && math.IsInf(b.High, 1):
		return ""
	case math.IsInf(b.Low, -1):
		outcome = d.phrase("less-than", "value", inUnit(b.High, p.Dim, p.Unit, p.Meter.Resolution, d.ambient))
	case math.IsInf(b.High, 1):
		outcome = d.phrase("more-than", "value", inUnit(b.Low, p.Dim, p.Unit, p.Meter.Resolution, d.ambient))
	default:
		outcome = d.rangeOf(p, b.Low, b.High)
	}
	var causes []string
	for _, s := range b.Remain {
		causes = append(causes, d.phrase("standing", "cause", d.lower(d.causeName(s.ID)), "odds", d.inHundred(s.Probability)))
	}
	if c, _ := d.checks.Check(b.Ref.Check); len(c.Points) > 1 {
		return d.say("next-branch-of", "point", d.text(p.Name), "outcome", outcome, "causes", d.listed(causes, mostRemain))
	}
	return d.say("next-branch", "outcome", outcome, "causes", d.listed(causes, mostRemain))
}
