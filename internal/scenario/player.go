package scenario

import (
	"context"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"rung/internal/diagnosis"
	"rung/internal/plant"
	"rung/internal/record"
	"rung/internal/visit"
)

// Service is what a script plays against.
type Service interface {
	visit.API
	// Model returns the model of the system of a visit.
	Model(ctx context.Context, visit record.VisitID) (visit.Model, error)
}

// Player plays one script.
type Player struct {
	s      Service
	log    func(format string, args ...any)
	hidden *Hidden

	seed     uint64
	kind     string
	plate    map[string]string
	hide     []hideLine
	air      map[string]string
	system   record.SystemID
	visit    record.VisitID
	readings int
	wrong    int // parts changed that cured nothing
	advice   visit.Advice
	proof    visit.Proof
	last     error // of the latest command that may fail
	first    []string
}

type hideLine struct {
	fault string
	u     float64
}

// Play carries out a script and returns what was not as it should be. It tells
// log what it does.
func Play(ctx context.Context, s Service, script Script, log func(format string, args ...any)) []error {
	p := &Player{s: s, seed: 1, log: log}
	var failures []error
	for _, step := range script.Steps {
		for _, c := range step.Commands {
			if err := p.do(ctx, c); err != nil {
				return append(failures, fmt.Errorf("line %d: %s: %w", c.Number, c.Word, err))
			}
		}
		for _, w := range step.Wants {
			if err := p.check(w); err != nil {
				failures = append(failures, fmt.Errorf("line %d: %w", w.Number, err))
			}
		}
	}
	return failures
}

// do carries out one command:
//
//	kind SYSTEM              the kind of system, if not a split air conditioner
//	plate NAME = VALUE; …    the nameplate as recorded, by field
//	hide FAULT [QUANTILE]    a fault in the machine
//	seed NUMBER              of tolerances and meter errors
//	air NAME = VALUE; …      the surroundings, true and recorded
//	complaint CLASS WORDS    opens the visit
//	read CHECK/POINT/DEMAND TEXT  a reading as typed
//	measure CHECK/DEMAND     a check read from the machine
//	follow N                 proposed checks, until a verdict other than "check", at most N
//	repair [ID]              the repair proposed, or this one
//	prove                    every reading the proof asks for, and the proof of each mode
//	close OUTCOME            ends the visit
func (p *Player) do(ctx context.Context, c Line) error {
	switch c.Word {
	case "plate":
		return p.keep(c, &p.plate)
	case "kind":
		p.kind = c.Rest
		return nil
	case "air":
		return p.keep(c, &p.air)
	case "hide":
		return p.addFault(c.Rest)
	case "seed":
		n, err := strconv.ParseUint(c.Rest, 10, 64)
		p.seed = n
		return err
	case "complaint":
		return p.open(ctx, c.Rest)
	case "read":
		return p.read(ctx, c.Rest)
	case "measure":
		return p.measure(ctx, c.Rest)
	case "follow":
		return p.follow(ctx, c.Rest)
	case "repair":
		return p.repair(ctx, c.Rest)
	case "prove":
		return p.prove(ctx)
	case "close":
		p.last = p.s.Close(ctx, p.by(), p.visit, visit.CloseInput{Outcome: c.Rest})
		return nil
	}
	return fmt.Errorf("no such command")
}

func (p *Player) by() visit.By { return visit.By{Author: "script", Form: p.s.NewForm()} }

func (p *Player) keep(c Line, into *map[string]string) error {
	m, err := c.pairs()
	if err != nil {
		return err
	}
	if *into == nil {
		*into = map[string]string{}
	}
	maps.Copy(*into, m)
	return nil
}

func (p *Player) addFault(rest string) error {
	id, quantile, given := strings.Cut(rest, " ")
	u := 0.5
	if given {
		var err error
		if u, err = strconv.ParseFloat(strings.TrimSpace(quantile), 64); err != nil {
			return err
		}
	}
	p.hide = append(p.hide, hideLine{id, u})
	return nil
}

// open enters the house, hides the faults and opens the visit.
func (p *Player) open(ctx context.Context, rest string) error {
	if err := p.enterHouse(ctx); err != nil {
		return err
	}
	class, words, _ := strings.Cut(rest, " ")
	var err error
	p.visit, err = p.s.OpenVisit(ctx, p.by(), p.system, visit.OpenInput{
		Words: words, Complaint: class, Who: record.Person{Name: "script", Role: "mechanic", Refrigerant: true, Gas: true}})
	if err != nil {
		return err
	}
	if len(p.air) > 0 {
		err = p.s.RecordSurroundings(ctx, p.by(), p.visit, visit.SurroundingsInput{Values: p.air})
		if err != nil {
			return err
		}
	}
	if err := p.build(ctx); err != nil {
		return err
	}
	return p.advise(ctx)
}

func (p *Player) enterHouse(ctx context.Context) error {
	property, err := p.s.AddProperty(ctx, p.by(), visit.PropertyInput{Name: "Test house", Elevation: p.air["elevation"]})
	if err != nil {
		return err
	}
	if p.system, err = p.s.AddSystem(ctx, p.by(), property, visit.SystemInput{Number: "1", Name: "only", Kind: p.kind}); err != nil {
		return err
	}
	indoor := "air-handler"
	if p.plate["indoor"] != "" {
		indoor = p.plate["indoor"]
	}
	kinds := []string{"outdoor-unit", indoor, "thermostat"}
	if len(p.plate) == 0 {
		kinds = nil // nothing is known of the units, and nothing has to be
	}
	for _, kind := range kinds {
		unit, err := p.s.AddUnit(ctx, p.by(), p.system, visit.UnitInput{Kind: kind})
		if err != nil {
			return err
		}
		if err := p.recordPlate(ctx, unit); err != nil {
			return err
		}
	}
	return nil
}

// recordPlate records the fields of the plate that stand on this unit.
func (p *Player) recordPlate(ctx context.Context, unit record.UnitID) error {
	fields, err := p.s.Plate(ctx, unit)
	if err != nil {
		return err
	}
	values := map[string]string{}
	for _, f := range fields {
		if v, ok := p.plate[f.ID]; ok {
			values[f.ID] = v
		}
	}
	if len(values) == 0 {
		return nil
	}
	return p.s.RecordPlate(ctx, p.by(), unit, values)
}

// build makes the hidden machine from the recorded nameplate and surroundings.
func (p *Player) build(ctx context.Context) error {
	m, err := p.s.Model(ctx, p.visit)
	if err != nil {
		return err
	}
	if p.hidden, err = NewHidden(m, p.seed); err != nil {
		return err
	}
	for _, h := range p.hide {
		if err := p.hidden.Hide(h.fault, h.u); err != nil {
			return err
		}
	}
	return nil
}

func (p *Player) advise(ctx context.Context) error {
	var err error
	if p.advice, err = p.s.Advise(ctx, p.visit); err != nil {
		return err
	}
	for i, c := range p.advice.Standing {
		if i < 3 {
			p.log("    %s  %s", c.Odds, c.ID)
		}
	}
	p.log("  %s: %s", p.advice.Verdict, p.advice.Heading)
	return nil
}

// read takes a reading as typed.
func (p *Player) read(ctx context.Context, rest string) error {
	ref, text, _ := strings.Cut(rest, " ")
	part := strings.Split(ref, "/")
	if len(part) != 3 {
		return fmt.Errorf("%q: want check/point/demand", ref)
	}
	in := visit.ReadingsInput{Check: part[0], Demand: part[2], Points: []visit.PointInput{{Point: part[1], Text: text}}}
	_, p.last = p.s.TakeReadings(ctx, p.by(), p.visit, in)
	if p.last == nil {
		p.readings++
	}
	return p.advise(ctx)
}

func (p *Player) measure(ctx context.Context, rest string) error {
	id, demand, ok := strings.Cut(rest, "/")
	if !ok {
		return fmt.Errorf("%q: want check/demand", rest)
	}
	check, found := p.hidden.checks.Check(id)
	if !found {
		return fmt.Errorf("no check %q", id)
	}
	d, err := plant.ParseDemand(demand)
	if err != nil {
		return err
	}
	return p.take(ctx, id, p.hidden.Points(check, d), d)
}

// take reads points of a check from the machine and records them in one go.
func (p *Player) take(ctx context.Context, check string, points []string, d plant.Demand) error {
	in := visit.ReadingsInput{Check: check, Demand: d.String()}
	for _, id := range points {
		r, err := p.hidden.Read(check, id, d)
		if err != nil {
			return err
		}
		p.log("%s/%s/%s  %s %s", check, id, d, r.Text, r.Unit)
		in.Points = append(in.Points, visit.PointInput{Point: id, Text: r.Text, Unit: r.Unit, NotReadable: r.NotReadable})
	}
	if _, err := p.s.TakeReadings(ctx, p.by(), p.visit, in); err != nil {
		return fmt.Errorf("%s at %s: %w", check, d, err)
	}
	p.readings++
	return p.advise(ctx)
}

// follow takes the first proposal until there is a verdict.
func (p *Player) follow(ctx context.Context, rest string) error {
	most, err := strconv.Atoi(rest)
	if err != nil {
		return err
	}
	for range most {
		if p.advice.Verdict != diagnosis.VerdictCheck || len(p.advice.Next) == 0 {
			return nil
		}
		if err := p.takeFirst(ctx); err != nil {
			return err
		}
	}
	return nil
}

func (p *Player) takeFirst(ctx context.Context) error {
	card := p.advice.Next[0]
	d, err := plant.ParseDemand(card.Demand.ID)
	if err != nil {
		return err
	}
	var points []string
	for _, pt := range card.Points {
		points = append(points, pt.Point)
	}
	p.first = append(p.first, card.Check)
	return p.take(ctx, card.Check, points, d)
}

// repair does a repair on the record and in the machine.
func (p *Player) repair(ctx context.Context, id string) error {
	if id == "" {
		if p.advice.Repair == nil {
			return fmt.Errorf("no repair is proposed")
		}
		id = p.advice.Repair.ID
	}
	cured, err := p.hidden.Repair(id)
	if err != nil {
		return err
	}
	if !cured {
		p.wrong++
	}
	p.log("repair %s", id)
	if _, err := p.s.RecordRepair(ctx, p.by(), p.visit, visit.RepairInput{Repair: id}); err != nil {
		return err
	}
	return p.advise(ctx)
}

// prove takes every reading that the proof still wants, then records each mode.
func (p *Player) prove(ctx context.Context) error {
	proof, err := p.s.Proof(ctx, p.visit)
	if err != nil {
		return err
	}
	type group struct{ check, demand string }
	var order []group
	points := map[group][]string{}
	for _, m := range proof.Modes {
		for _, l := range m.Lines {
			g := group{l.Check, l.Demand}
			if !slices.Contains(order, g) {
				order = append(order, g)
			}
			points[g] = append(points[g], l.Point)
		}
	}
	for _, g := range order {
		d, err := plant.ParseDemand(g.demand)
		if err != nil {
			return err
		}
		if err := p.take(ctx, g.check, points[g], d); err != nil {
			return err
		}
	}
	for _, m := range proof.Modes {
		if err := p.s.RecordProof(ctx, p.by(), p.visit, visit.ProofInput{Mode: m.Mode.ID, Limited: m.Limited}); err != nil {
			return err
		}
	}
	p.proof, err = p.s.Proof(ctx, p.visit)
	return err
}
