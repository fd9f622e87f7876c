package visit

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/record"
	"rung/internal/tradeunit"
)

// Question is one case put from outside, as a JSON document: a system, what
// surrounds it, and what was read. Quantities are texts with their unit, as
// typed, or {"value": 118, "unit": "psig"}.
type Question struct {
	// System holds the fields of the nameplate by their ids, with underscores
	// for dashes; also kind, indoor (air-handler or furnace) and run_capacitor,
	// "45+5 uF 440 V".
	System       map[string]json.RawMessage `json:"system"`
	Complaint    string                     `json:"complaint"`
	Words        string                     `json:"words,omitempty"`
	Surroundings map[string]tradeunit.Raw   `json:"surroundings"`
	Readings     []QuestionReading          `json:"readings"`
	Refused      []RefusalInput             `json:"refused,omitempty"`
	// Repairs are ids of the catalogue, in order. Readings with an epoch of n
	// were taken after n of them.
	Repairs []string `json:"repairs,omitempty"`
	Hazards []string `json:"hazards,omitempty"`
	// Person is who works; a mechanic with a refrigerant certificate if not given.
	Person *record.Person `json:"person,omitempty"`
	// Lang is the language of the answer, "en" or "es"; English if not given.
	Lang string `json:"lang,omitempty"`
	// Unknown are fields of the document that mean nothing here.
	Unknown []string `json:"-"`
}

// questionFields are the fields of a Question in JSON.
var questionFields = []string{"system", "complaint", "words", "surroundings", "readings", "refused", "repairs", "hazards", "person", "lang"}

// UnmarshalJSON reads a question and keeps the names of fields it does not know.
func (q *Question) UnmarshalJSON(doc []byte) error {
	type plain Question
	if err := json.Unmarshal(doc, (*plain)(q)); err != nil {
		return err
	}
	var fields map[string]json.RawMessage
	if err := json.Unmarshal(doc, &fields); err != nil {
		return err
	}
	for _, name := range slices.Sorted(maps.Keys(fields)) {
		if !slices.Contains(questionFields, name) {
			q.Unknown = append(q.Unknown, name)
		}
	}
	return nil
}

// QuestionReading is one point read.
type QuestionReading struct {
	Check       string        `json:"check"`
	Point       string        `json:"point"`
	Demand      string        `json:"demand"`
	Value       tradeunit.Raw `json:"value"`
	NotReadable bool          `json:"not_readable,omitempty"`
	Unsettled   bool          `json:"unsettled,omitempty"`
	Epoch       int           `json:"epoch,omitempty"`
}

// Answer is what the reasoning says to a Question.
type Answer struct {
	Causes   []AnswerCause      `json:"causes"`
	Unlisted float64            `json:"unlisted"`
	Next     []AnswerCheck      `json:"next"`
	Verdict  diagnosis.Verdict  `json:"verdict"`
	Heading  string             `json:"heading"`
	Repair   string             `json:"repair,omitempty"`
	Reasons  []string           `json:"reasons"`
	RuledOut []string           `json:"ruled_out"`
	Warnings []string           `json:"warnings"`
	Charge   *AnswerCharge      `json:"charge_not_judged,omitempty"`
	Assumed  map[string]string  `json:"assumed"`
	Costs    map[string]float64 `json:"costs_minutes"`
}

// AnswerCause is a cause that stands.
type AnswerCause struct {
	Cause       string          `json:"cause"`
	Name        string          `json:"name"`
	Repairs     []string        `json:"repairs"`
	Probability float64         `json:"probability"`
	Severity    *AnswerSeverity `json:"severity,omitempty"`
}

// AnswerSeverity is how bad a cause is: the 5, 50 and 95 % points as quantiles
// of its own distribution, and in words.
type AnswerSeverity struct {
	Low   float64 `json:"low"`
	Mid   float64 `json:"mid"`
	High  float64 `json:"high"`
	Words string  `json:"words,omitempty"`
}

// AnswerCheck is a check proposed.
type AnswerCheck struct {
	Check         string   `json:"check"`
	Points        []string `json:"points"`
	Demand        string   `json:"demand"`
	Minutes       float64  `json:"minutes"`
	SetupMinutes  float64  `json:"setup_minutes"`
	BitsPerMinute float64  `json:"bits_per_minute"`
	Why           string   `json:"why"`
	Cautions      []string `json:"cautions"`
}

// AnswerCharge says why the charge is not judged.
type AnswerCharge struct {
	Reasons []string                 `json:"reasons"`
	IDs     []diagnosis.ChargeReason `json:"ids"`
}

// Ask answers a question by playing it as a visit through the use cases of s,
// which should keep its journal in memory: the same limits and the same
// sentences hold as on the pages.
func Ask(ctx context.Context, s *Service, q Question) (Answer, error) {
	if q.Lang != "" {
		l, known := ParseLanguage(q.Lang)
		if !known {
			return Answer{}, at("lang", errorf(Invalid, "There is no language %q: want en or es.", q.Lang))
		}
		ctx = WithLanguage(ctx, l)
	}
	a := asking{ctx: ctx, s: s, q: q}
	id, err := a.open()
	if err != nil {
		return Answer{}, err
	}
	if err := a.tell(id); err != nil {
		return Answer{}, err
	}
	advice, err := s.Advise(ctx, id)
	if err != nil {
		return Answer{}, err
	}
	return a.answer(advice)
}

// asking is a question on its way through the use cases.
type asking struct {
	ctx    context.Context
	s      *Service
	q      Question
	system record.SystemID
	units  []record.UnitID
}

func (a *asking) by() By { return By{Author: "question", Form: a.s.NewForm()} }

// at names the part of the question in which a use case found a mistake.
func at(where string, err error) error {
	var e *Error
	if err == nil || !errors.As(err, &e) {
		return err
	}
	return &Error{Kind: e.Kind, Message: e.Error(), Fields: []FieldError{{Field: where, Kind: e.Kind, Message: e.Error()}}}
}

// open enters the house and its plates and opens the visit.
func (a *asking) open() (record.VisitID, error) {
	plate, indoor, err := a.plate()
	if err != nil {
		return "", err
	}
	property, err := a.s.AddProperty(a.ctx, a.by(), PropertyInput{Name: "question", Elevation: string(a.q.Surroundings["elevation"])})
	if err != nil {
		return "", at("surroundings.elevation", err)
	}
	if a.system, err = a.s.AddSystem(a.ctx, a.by(), property, SystemInput{Number: "1", Name: "question"}); err != nil {
		return "", at("system", err)
	}
	for _, kind := range []string{"outdoor-unit", indoor, "thermostat"} {
		if err := a.addUnit(kind, plate); err != nil {
			return "", err
		}
	}
	for id := range plate {
		return "", at("system."+underscored(id), errorf(Invalid, "There is no such field of a nameplate."))
	}
	who := record.Person{Name: "question", Role: "mechanic", Refrigerant: true}
	if a.q.Person != nil {
		who = *a.q.Person
		who.Name = "question"
	}
	visit, err := a.s.OpenVisit(a.ctx, a.by(), a.system, OpenInput{Words: a.q.Words, Complaint: a.q.Complaint, Who: who})
	return visit, at("complaint", err)
}

// addUnit enters a unit with the fields of plate that stand on it, and takes
// these out of plate.
func (a *asking) addUnit(kind string, plate map[string]string) error {
	unit, err := a.s.AddUnit(a.ctx, a.by(), a.system, UnitInput{Kind: kind})
	if err != nil {
		return at("system.indoor", err)
	}
	a.units = append(a.units, unit)
	values := map[string]string{}
	for id, text := range plate {
		if f, known := plateFieldOf(id); known && slices.Contains(f.on, kind) {
			values[id] = text
			delete(plate, id)
		}
	}
	if len(values) == 0 {
		return nil
	}
	err = a.s.RecordPlate(a.ctx, a.by(), unit, values)
	var e *Error
	if errors.As(err, &e) && len(e.Fields) > 0 {
		return at("system."+underscored(e.Fields[0].Field), err)
	}
	return err
}

func underscored(id string) string { return strings.ReplaceAll(id, "-", "_") }

// plate returns the fields of the system by id, and the kind of indoor unit.
func (a *asking) plate() (plate map[string]string, indoor string, err error) {
	plate, indoor = map[string]string{}, "air-handler"
	for _, name := range slices.Sorted(maps.Keys(a.q.System)) {
		text, err := textOf(a.q.System[name])
		if err != nil {
			return nil, "", at("system."+name, errorf(Invalid, "%v", err))
		}
		switch name {
		case "kind":
			if text != "split-air-conditioner" {
				return nil, "", at("system.kind", errorf(Invalid, "Only split-air-conditioner is known, not %q.", text))
			}
		case "indoor":
			indoor = text
		case "run_capacitor":
			err = splitCapacitor(text, plate)
		default:
			plate[strings.ReplaceAll(name, "_", "-")] = text
		}
		if err != nil {
			return nil, "", at("system."+name, err)
		}
	}
	return plate, indoor, nil
}

// textOf returns a field of the system as typed: text, a bare number, or value and unit.
func textOf(doc json.RawMessage) (string, error) {
	var number json.Number
	if json.Unmarshal(doc, &number) == nil && doc[0] != '"' {
		return number.String(), nil
	}
	var raw tradeunit.Raw
	if err := raw.UnmarshalJSON(doc); err != nil {
		return "", err
	}
	return string(raw), nil
}

// splitCapacitor reads what is printed on a dual run capacitor, "45+5 uF 440 V".
func splitCapacitor(text string, plate map[string]string) error {
	sections, rest, _ := strings.Cut(strings.TrimSpace(text), " ")
	herm, fan, dual := strings.Cut(sections, "+")
	unit, volts, _ := strings.Cut(strings.TrimSpace(rest), " ")
	if unit == "" {
		return errorf(Invalid, "%q: want the printed value, such as \"45+5 uF 440 V\".", text)
	}
	plate["herm-capacitance"] = herm + " " + unit
	if dual {
		plate["fan-capacitance"] = fan + " " + unit
	}
	if volts != "" {
		plate["capacitor-voltage"] = volts
	}
	return nil
}

// tell records surroundings, readings, refusals, hazards and repairs.
func (a *asking) tell(visit record.VisitID) error {
	values := map[string]string{}
	for name, v := range a.q.Surroundings {
		if name != "elevation" {
			values[strings.ReplaceAll(name, "_", "-")] = string(v)
		}
	}
	if len(values) > 0 {
		if err := a.s.RecordSurroundings(a.ctx, a.by(), visit, SurroundingsInput{Values: values}); err != nil {
			return at("surroundings", err)
		}
	}
	for _, h := range a.q.Hazards {
		if err := a.s.NoteHazard(a.ctx, a.by(), visit, h, false); err != nil {
			return at("hazards", err)
		}
	}
	a.q.Readings = slices.Clone(a.q.Readings)
	for i, r := range a.q.Readings {
		a.q.Readings[i] = a.named(r)
	}
	for epoch := 0; epoch <= len(a.q.Repairs); epoch++ {
		if err := a.tellEpoch(visit, epoch); err != nil {
			return err
		}
		if epoch < len(a.q.Repairs) {
			if _, err := a.s.RecordRepair(a.ctx, a.by(), visit, RepairInput{Repair: a.q.Repairs[epoch]}); err != nil {
				return at(fmt.Sprintf("repairs[%d]", epoch), err)
			}
		}
	}
	for i, r := range a.q.Refused {
		if err := a.s.Refuse(a.ctx, a.by(), visit, r); err != nil {
			return at(fmt.Sprintf("refused[%d]", i), err)
		}
	}
	return nil
}

// tellEpoch records the readings of an epoch. Those of one check that stand
// together are entered in one form, as on the pages.
func (a *asking) tellEpoch(visit record.VisitID, epoch int) error {
	var group []int
	for i, r := range a.q.Readings {
		if r.Epoch < 0 || r.Epoch > len(a.q.Repairs) {
			return at(fmt.Sprintf("readings[%d].epoch", i), errorf(Invalid, "Epoch %d: there were %d repairs.", r.Epoch, len(a.q.Repairs)))
		}
		if r.Epoch != epoch {
			continue
		}
		if len(group) > 0 && !a.oneForm(group, r) {
			if err := a.take(visit, group); err != nil {
				return err
			}
			group = nil
		}
		group = append(group, i)
	}
	return a.take(visit, group)
}

// oneForm reports whether a reading could stand in one form with those of a group.
func (a *asking) oneForm(group []int, r QuestionReading) bool {
	first := a.q.Readings[group[0]]
	again := slices.ContainsFunc(group, func(i int) bool { return a.q.Readings[i].Point == r.Point })
	return first.Check == r.Check && first.Demand == r.Demand && first.Unsettled == r.Unsettled && !again
}

// take records a group of readings in one form. A mistake is told of the
// reading that holds it.
func (a *asking) take(visit record.VisitID, group []int) error {
	if len(group) == 0 {
		return nil
	}
	first := a.q.Readings[group[0]]
	in := ReadingsInput{Check: first.Check, Demand: first.Demand, Unsettled: first.Unsettled}
	for _, i := range group {
		r := a.q.Readings[i]
		in.Points = append(in.Points, PointInput{Point: r.Point, Text: string(r.Value), NotReadable: r.NotReadable})
	}
	_, err := a.s.TakeReadings(a.ctx, a.by(), visit, in)
	var e *Error
	if errors.As(err, &e) {
		for k, i := range group {
			if e.Field(in.Points[k].Point) != "" {
				return at(fmt.Sprintf("readings[%d]", i), err)
			}
		}
	}
	return at(fmt.Sprintf("readings[%d]", group[0]), err)
}

// named returns a reading with its point named, and at a demand at which the
// point is read: what does not depend on anything running may be given at any.
func (a *asking) named(r QuestionReading) QuestionReading {
	_, p, known := a.s.checks().Point(r.Check, r.Point)
	if !known {
		return r
	}
	r.Point = p.ID
	if d, err := plant.ParseDemand(r.Demand); err == nil && !p.At(d) && p.Phase == fieldtest.Standing {
		r.Demand = p.Demands[0].String()
	}
	return r
}

// answer turns advice into an answer.
func (a *asking) answer(x Advice) (Answer, error) {
	out := Answer{
		Causes: []AnswerCause{}, Next: []AnswerCheck{}, Reasons: []string{}, RuledOut: []string{}, Warnings: []string{},
		Unlisted: x.Raw.UnlistedTotal, Verdict: x.Verdict, Heading: x.Heading, Assumed: map[string]string{},
		Costs: map[string]float64{
			"repair-now": x.Raw.Stop.RepairNow, "one-more-check": x.Raw.Stop.OneMore,
			"go-on": x.Raw.Stop.GoOn, "escalate": x.Raw.Stop.Escalate,
		},
	}
	words := map[string]CauseLine{}
	for _, c := range x.Standing {
		words[c.ID] = c
	}
	for _, c := range x.Raw.Causes {
		w := words[c.ID]
		cause := AnswerCause{Cause: c.ID, Name: (&desk{Language: LanguageOf(a.ctx), faults: a.s.faults()}).causeName(c.ID), Repairs: append([]string{}, c.Repairs...), Probability: c.Probability}
		if c.Severity != nil {
			cause.Severity = &AnswerSeverity{c.Severity.Low, c.Severity.Mid, c.Severity.High, w.Severity}
		}
		out.Causes = append(out.Causes, cause)
	}
	for i, n := range x.Raw.Next {
		out.Next = append(out.Next, checkOf(n, x.Next[i]))
	}
	if x.Repair != nil {
		out.Repair = x.Repair.ID
	}
	out.Reasons = append(out.Reasons, x.Why)
	if len(x.Standing) > 0 {
		out.Reasons = append(out.Reasons, x.Standing[0].Reasons...)
	}
	out.Reasons = append(out.Reasons, x.Effect...)
	for _, r := range x.RuledOut {
		out.RuledOut = append(out.RuledOut, r.Name+": "+r.Why)
	}
	for _, name := range a.q.Unknown {
		out.Warnings = append(out.Warnings, LanguageOf(a.ctx).say("unknown-field", "field", strconv.Quote(name)))
	}
	out.Warnings = append(out.Warnings, x.Warnings...)
	if x.NotJudged != nil {
		out.Charge = &AnswerCharge{Reasons: x.NotJudged.Reasons, IDs: x.NotJudged.IDs}
	}
	return out, a.assumed(out.Assumed)
}

func checkOf(n diagnosis.Suggestion, card Card) AnswerCheck {
	c := AnswerCheck{Check: n.Check, Points: []string{}, Demand: string(n.Demand), Minutes: n.CheckMinutes, SetupMinutes: n.SetupMinutes,
		BitsPerMinute: n.BitsPerMinute, Why: card.Why, Cautions: card.Cautions}
	for _, r := range n.Refs {
		c.Points = append(c.Points, r.Point)
	}
	return c
}

// assumed lists what was taken for fields of the nameplate that were not given.
func (a *asking) assumed(into map[string]string) error {
	for _, u := range a.units {
		fields, err := a.s.Plate(a.ctx, u)
		if err != nil {
			return err
		}
		for _, f := range fields {
			if f.Value == "" && f.Assumed != "" {
				into[underscored(f.ID)] = f.Assumed
			}
		}
	}
	return nil
}
