package visit

import (
	"context"
	"errors"
	"fmt"
	"slices"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/record"
)

// always are the checks that prove every repair, beside those of the repair
// itself, by mode.
// practice: what must show before one leaves: everything runs, the split, the
// amps, the drain; that a heating call arrives and starts the blower, and that
// the heat source, which is not modelled, heats; and that the blower runs alone.
var always = map[string][]string{
	"cool": {"look-listen", "delta-t-air", "a-common-compressor", "drain-flow"},
	"fan":  {"look-listen"},
	"heat": {"v-w-c-board", "heat-source", "watch-sequence", "temp-rise", "pipe-dt", "boiler-gauge", "look-listen"},
}

// allModes are those that a visit can prove, in order.
var allModes = []string{"cool", "heat", "fan"}

// modes are those that a thermostat of this system can call for, that of the
// complaint first.
func (d *desk) modes() []string {
	wired := d.side.wired
	if wired == nil && d.other != nil {
		wired = d.other.wired
	}
	if wired == nil {
		return allModes
	}
	var list []string
	for _, mode := range allModes {
		if demand, err := plant.ParseDemand(mode); err == nil && wired.Calls(demand) {
			list = append(list, mode)
		}
	}
	if own := slices.Index(list, d.ownMode()); own > 0 {
		list = slices.Insert(slices.Delete(list, own, own+1), 0, d.ownMode())
	}
	return list
}

// hotFor is the outdoor temperature above which heating is only shown to start.
// practice: no long soak in summer.
var hotFor = quantity.Temperature(mustSI("75 °F", quantity.DimTemperature))

// Proof says which checks must now hold, before and after side by side.
func (s *Service) Proof(ctx context.Context, visit record.VisitID) (Proof, error) {
	_, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return Proof{}, err
	}
	d, err := s.desk(ctx, here, LanguageOf(ctx))
	if err != nil {
		return Proof{}, err
	}
	return d.proof()
}

func (d *desk) proof() (Proof, error) {
	p := Proof{Intro: d.say("proof-none")}
	if repairs := d.repairNames(); len(repairs) > 0 {
		p.Intro = d.say("proof-intro", "repair", d.andList(repairs))
	}
	for _, mode := range d.modes() {
		m, err := d.proofMode(mode)
		if err != nil {
			return Proof{}, err
		}
		if m.Limited != "" {
			p.Limits = append(p.Limits, m.Limited)
		}
		p.Modes = append(p.Modes, m)
	}
	if d.chargeOpen() {
		p.NotJudged = d.notJudged()
	}
	var plain *Error
	if errors.As(d.blind, &plain) {
		p.Limits = append(p.Limits, plain.Message)
	}
	p.judge(d.Language)
	return p, nil
}

// chargeOpen reports whether the charge matters to this visit and cannot be
// judged: a charge cause stands, or a repair changed the charge.
func (d *desk) chargeOpen() bool {
	if d.advice.Charge.Open {
		return false
	}
	return d.advice.Charge.Matters || slices.ContainsFunc(d.Visit.Repairs, func(r *ledger.Repair) bool {
		k, known := d.faults.Repair(r.Repair)
		return known && (k.Charge || k.Invasive == "circuit")
	})
}

func (d *desk) repairNames() []string {
	var names []string
	for _, r := range d.Visit.Repairs {
		name := d.lower(d.repairName(r.Repair))
		if r.Repair == OtherRepair {
			name = r.Note
		}
		names = append(names, name)
	}
	return names
}

// proofMode lays out the proof of one mode.
func (d *desk) proofMode(mode string) (ProofMode, error) {
	m := ProofMode{Mode: d.choice("mode", mode), Limited: d.limit(mode), How: d.proofHow(mode)}
	for _, r := range d.Visit.Proofs {
		if r.Mode == mode && r.Epoch == d.Visit.Epoch() {
			m.Recorded = true
			if r.Limited != "" {
				m.Limited = r.Limited
			}
		}
	}
	demand, err := plant.ParseDemand(mode)
	if err != nil {
		return m, err
	}
	for _, id := range d.proofChecks(mode) {
		c, known := d.checks.Check(id)
		if !known {
			continue // a repair may name a check of a machine that this is not
		}
		for _, p := range d.pointsAt(c, demand) {
			if m.Limited != "" && p.Settle > 0 {
				continue // what must settle cannot be shown in a short run
			}
			line, err := d.proofLine(c, p, mode)
			if err != nil {
				return m, err
			}
			m.Lines = append(m.Lines, line)
		}
	}
	return m, nil
}

// proofHow says how a mode is proved.
func (d *desk) proofHow(mode string) string {
	if mode == "heat" && !d.heatUnknown() {
		return d.say("proof-how-heat-known")
	}
	return d.say("proof-how-" + mode)
}

// proofChecks lists the checks that prove a mode: the usual ones and those of
// the repairs done.
func (d *desk) proofChecks(mode string) []string {
	list := slices.Clone(always[mode])
	for _, r := range d.Visit.Repairs {
		k, known := d.faults.Repair(r.Repair)
		if !known || mode != d.ownMode() {
			continue
		}
		for _, id := range k.Proof {
			if !slices.Contains(list, id) {
				list = append(list, id)
			}
		}
	}
	return list
}

// ownMode is the mode in which the repairs of the visit are proved first.
func (d *desk) ownMode() string {
	if d.side.wired != nil && d.side.wired.Calls(plant.Heat) {
		return "heat"
	}
	return "cool"
}

// limit says why the weather does not allow the full proof of a mode.
func (d *desk) limit(mode string) string {
	outdoor := d.situation.Surroundings.Outdoor
	switch {
	case !d.situation.OutdoorKnown:
		return ""
	case mode == "cool" && outdoor < d.advice.Charge.OutdoorLimit:
		return d.say("limit-cool-outdoors", "outdoor", fahrenheit(outdoor))
	case mode == "heat" && outdoor > hotFor:
		return d.say("limit-hot-outdoors", "outdoor", fahrenheit(outdoor))
	}
	return ""
}

// proofLine puts a point before and after the last repair beside what a sound
// system shows.
func (d *desk) proofLine(c *fieldtest.Check, p *fieldtest.Point, mode string) (ProofLine, error) {
	ref := diagnosis.Ref{Check: c.ID, Point: p.ID, Demand: diagnosis.Demand(mode)}
	line := ProofLine{Check: c.ID, Point: p.ID, Demand: mode, Name: d.pointName(ref), State: ProofOpen}
	sound, err := d.soundly(p, ref)
	if err != nil {
		return line, fmt.Errorf("proof of %s: %w", c.ID, err)
	}
	line.Must = sound.words
	for epoch := d.Visit.Epoch() - 1; epoch >= 0 && line.Before == ""; epoch-- {
		if r, known := d.Visit.Latest(c.ID, p.ID, mode, epoch); known {
			line.Before, line.before = d.showing(p, r), &r.AsRead
		}
	}
	r, known := d.Visit.Latest(c.ID, p.ID, mode, d.Visit.Epoch())
	if !known {
		return line, nil
	}
	line.After, line.after = d.showing(p, r), &r.AsRead
	o, ok := outcomeOf(p, r, d.ambient)
	switch {
	case modelled(p) && d.blindTo(p, ref):
		line.State = ProofRead
	case ok && sound.holds(o):
		line.State = ProofHolds
	default:
		line.State = ProofFails
	}
	return line, nil
}

// sound is what a point may show on a sound system.
type sound struct {
	words string
	holds func(diagnosis.Outcome) bool
}

// soundly returns what a point may show on this system when it is sound.
func (d *desk) soundly(p *fieldtest.Point, ref diagnosis.Ref) (sound, error) {
	if !modelled(p) {
		return sound{words: d.wordOf(p, 0), holds: func(o diagnosis.Outcome) bool { return o == diagnosis.Word(0) }}, nil
	}
	if d.blindTo(p, ref) {
		return sound{words: d.say("unpredicted")}, nil
	}
	expected, err := d.cardOf(p, ref)
	if err != nil {
		return sound{}, err
	}
	if len(expected) == 0 {
		return sound{}, errors.New("the reasoner expects nothing")
	}
	return d.sound(p, expected[0]), nil
}

// widen stretches the 5 to 95 % range of a sound system for a proof, so that a
// sound one fails in about one of a hundred lines, not in one of ten.
// practice: 1.5, from ±1.64 to ±2.5 standard deviations of a normal spread.
const widen = 1.5

func (d *desk) sound(p *fieldtest.Point, x diagnosis.Expectation) sound {
	half := widen * (x.Range.High - x.Range.Low) / 2
	mid := (x.Range.High + x.Range.Low) / 2
	x.Range.Low, x.Range.High = mid-half, mid+half
	return sound{words: d.expect(p, x).Shows, holds: func(o diagnosis.Outcome) bool {
		switch o.Kind {
		case diagnosis.IsWord:
			return o.Word < len(x.Words) && x.Words[o.Word] >= leastShare
		case diagnosis.IsNotReadable:
			return x.NotReadableShare >= leastShare
		}
		return x.ValueShare >= leastShare && x.Range.Low <= o.Value && o.Value <= x.Range.High
	}}
}

// judge says how the proof stands as a whole.
func (p *Proof) judge(l Language) {
	var failing, missing []string
	open, limited := 0, false
	for _, m := range p.Modes {
		limited = limited || m.Limited != ""
		for _, x := range m.Lines {
			switch x.State {
			case ProofFails:
				failing = append(failing, l.lower(x.Name))
			case ProofOpen:
				open++
			}
		}
		if !m.Recorded {
			missing = append(missing, m.Mode.Name)
		}
	}
	switch {
	case len(failing) > 0:
		p.Verdict = l.say("proof-fails", "points", l.andList(failing))
	case open > 0 && len(missing) > 0:
		p.Verdict = l.say("proof-missing", "count", fmt.Sprint(open), "modes", l.andList(missing))
	case len(missing) > 0:
		p.Verdict = l.say("proof-modes", "modes", l.andList(missing))
	case open > 0 || limited:
		p.Complete, p.Verdict = true, l.say("proof-limited")
	default:
		p.Complete, p.Verdict = true, l.say("proof-complete")
	}
}

// RecordProof records the proof of a mode as it stands: each check read, before
// and after. What was not read needs a word why.
func (s *Service) RecordProof(ctx context.Context, by By, visit record.VisitID, in ProofInput) error {
	p, here, err := s.loadVisit(ctx, visit)
	if err != nil {
		return err
	}
	d, err := s.desk(ctx, here, English)
	if err != nil {
		return err
	}
	if !slices.Contains(d.modes(), in.Mode) {
		return errorf(Invalid, "Choose a mode of this system: %s.", English.andList(d.modes()))
	}
	m, err := d.proofMode(in.Mode)
	if err != nil {
		return err
	}
	limited := clean(in.Limited)
	if limited == "" {
		limited = m.Limited
	}
	events, unread := m.events(visit, here.Visit.LastRepair(), limited)
	if len(unread) > 0 && limited == "" {
		return errorf(Invalid, "Still to be read: %s. Read them, or say what keeps you from it.", English.andList(unread))
	}
	_, err = s.write(ctx, by, p, events)
	return err
}

// events returns the entries of a proof and the names of what was not read.
func (m ProofMode) events(visit record.VisitID, after record.EntryID, limited string) (events []record.Event, unread []string) {
	for _, l := range m.Lines {
		if l.State == ProofOpen {
			unread = append(unread, English.lower(l.Name))
			continue
		}
		events = append(events, record.ProofTaken{
			Visit: visit, Mode: m.Mode.ID, Check: l.Check, Point: l.Point, Before: l.before, After: l.after,
			Expected: l.Must, Holds: l.State == ProofHolds, Limited: limited, AfterRepair: after,
		})
	}
	if len(events) == 0 {
		events = []record.Event{record.ProofTaken{Visit: visit, Mode: m.Mode.ID, Holds: len(unread) == 0, Limited: limited, AfterRepair: after}}
	}
	return events, unread
}
