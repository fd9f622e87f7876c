package web

import (
	"errors"
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/replace"
	"rung/internal/tradeunit"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// replacer is one planner of package replace as a page.
type replacer struct {
	id, title, note, about string
	cautions               []string          // ids
	plate                  map[string]string // field: id of the nameplate that fills it
	example                url.Values
	draw                   func(*asked) drawn
	plan                   func(*asked) *page.Replacement // nil if something is wrong
}

// drawn is the form of a planner.
type drawn struct {
	sets  []page.FieldSet
	wires *page.WireTable
	after []page.FieldSet
}

// replacers lists them, what fails most often first.
func replacers() []replacer {
	return []replacer{capacitorReplacer(), contactorReplacer(), motorReplacer(true), blowerCapacitorReplacer(), motorReplacer(false), transformerReplacer(),
		fuseReplacer(), thermostatReplacer(), branchReplacer()}
}

// plannerOf finds the planner of a repair of the catalogue; empty if none is
// concerned.
func plannerOf(repair string) string {
	return map[string]string{"replace-run-capacitor": "capacitor", "replace-blower-capacitor": "blower-capacitor", "replace-contactor": "contactor",
		"replace-fan-motor": "fan-motor", "replace-blower-motor": "blower-motor", "replace-ecm-module": "blower-motor", "replace-transformer": "transformer",
		"replace-line-fuses": "fuse", "replace-thermostat": "thermostat", "replace-breaker": "branch", "repair-branch-wiring": "branch"}[repair]
}

// replaceQuery carries the visit or the unit from which the planners were opened.
func replaceQuery(q url.Values) string {
	carried := url.Values{}
	for _, name := range []string{"visit", "unit"} {
		if q.Get(name) != "" {
			carried.Set(name, q.Get(name))
		}
	}
	if len(carried) == 0 {
		return ""
	}
	return "?" + carried.Encode()
}

// replaceList lists the planners.
func (s *Server) replaceList(w http.ResponseWriter, r *http.Request) error {
	carried := replaceQuery(r.URL.Query())
	shell, _, err := s.replaceShell(r, "Replace a part")
	if err != nil {
		return err
	}
	list := page.LinkList{Heading: "What is to be replaced?"}
	for _, x := range replacers() {
		list.Links = append(list.Links, page.Link{Text: x.title, Href: "/replace/" + x.id + carried, Note: x.note})
	}
	return s.render(w, r, http.StatusOK, page.Place(page.PlacePage{Shell: shell, Lists: []page.LinkList{list}}))
}

// replaceShell is the frame of the planners, and the values of the nameplates
// of the system, by id, if they were opened from a visit or a unit.
func (s *Server) replaceShell(r *http.Request, title string) (page.Shell, map[string]string, error) {
	q := r.URL.Query()
	switch {
	case q.Get("visit") != "":
		here, err := s.Visits.Visit(r.Context(), record.VisitID(q.Get("visit")))
		if err != nil {
			return page.Shell{}, nil, err
		}
		shell := s.shell(r, here, title, "Repair")
		shell.Back = page.Link{Text: "Repair", Href: visitPath(here.Visit.Visit) + "/repair"}
		plate := map[string]string{}
		for _, u := range here.System.Units {
			if err := s.addPlate(r, u.Unit, plate); err != nil {
				return page.Shell{}, nil, err
			}
		}
		return shell, plate, nil
	case q.Get("unit") != "":
		p, x, u, err := s.Visits.Unit(r.Context(), record.UnitID(q.Get("unit")))
		if err != nil {
			return page.Shell{}, nil, err
		}
		shell := page.Shell{Title: title, Place: p.Name + " · " + x.Title() + " · " + s.unitName(u), Back: page.Link{Text: s.unitName(u), Href: unitPath(u.Unit)}}
		plate := map[string]string{}
		for _, other := range x.Units {
			if err := s.addPlate(r, other.Unit, plate); err != nil {
				return page.Shell{}, nil, err
			}
		}
		return shell, plate, nil
	}
	return page.Shell{Title: title, Back: page.Link{Text: "Start", Href: "/"}}, nil, nil
}

// addPlate adds what is known of a unit's plate; what is assumed is not known.
func (s *Server) addPlate(r *http.Request, unit record.UnitID, plate map[string]string) error {
	fields, err := s.Visits.Plate(r.Context(), unit)
	if err != nil {
		return err
	}
	for _, f := range fields {
		if f.Value != "" {
			plate[f.ID] = f.Value
		}
	}
	return nil
}

// replace shows one planner: its form, and its answer if the address carries
// what was filled in.
func (s *Server) replace(w http.ResponseWriter, r *http.Request) error {
	i := slices.IndexFunc(replacers(), func(x replacer) bool { return x.id == r.PathValue("part") })
	if i < 0 {
		return &visit.Error{Kind: visit.NotFound, Message: "There is no such page."}
	}
	x := replacers()[i]
	shell, plate, err := s.replaceShell(r, x.title)
	if err != nil {
		return err
	}
	q := r.URL.Query()
	carried := replaceQuery(q)
	if q.Get("visit") == "" && q.Get("unit") == "" {
		shell.Back = page.Link{Text: "Replace a part", Href: "/replace"}
	} else {
		shell.Back = page.Link{Text: "Replace", Href: "/replace" + carried}
	}
	a := &asked{server: s, query: q, sent: q.Get("sent") != "", cautioned: map[string]bool{}}
	known := map[string]string{}
	for field, id := range x.plate {
		known[field] = plate[id]
	}
	p := page.ReplacePage{Shell: shell, About: x.about, Cautions: a.cautions(x.cautions), Action: "/replace/" + x.id,
		Hidden: []page.Hidden{{Name: "sent", Value: "yes"}}, Try: page.Link{Text: "Try an example", Href: "/replace/" + x.id + "?" + x.example.Encode()}}
	for _, name := range []string{"visit", "unit"} {
		if q.Get(name) != "" {
			p.Hidden = append(p.Hidden, page.Hidden{Name: name, Value: q.Get(name)})
			p.Try = page.Link{}
		}
	}
	status := http.StatusOK
	if a.sent {
		if p.Answer = x.plan(a); len(a.wrong.Fields) > 0 || a.wrong.Message != "" {
			p.Answer, status = nil, http.StatusUnprocessableEntity
		}
	}
	a.begin(known)
	form := x.draw(a)
	p.Sets, p.Wires, p.After, p.Wrong = form.sets, form.wires, form.after, a.f.rest()
	return s.render(w, r, status, page.Replace(p))
}

// asked is a filled planner: what was typed, and what is wrong with it.
type asked struct {
	server    *Server
	query     url.Values
	sent      bool
	wrong     visit.Error
	f         *filling
	cautioned map[string]bool // ids that were shown in full
}

// begin makes the form ready to be drawn: with what was typed, or what the
// plates tell on the first showing.
func (a *asked) begin(known map[string]string) {
	if !a.sent {
		a.f = fill(known, nil, nil)
		return
	}
	typed := map[string]string{}
	for name := range a.query {
		typed[name] = a.query.Get(name)
	}
	if len(a.wrong.Fields) == 0 && a.wrong.Message == "" {
		a.f = fill(typed, nil, nil)
		return
	}
	a.f = fill(typed, a.query, &a.wrong)
}

func (a *asked) mistake(field, message string) {
	a.wrong.Fields = append(a.wrong.Fields, visit.FieldError{Field: field, Kind: visit.Invalid, Message: message})
}

func (a *asked) word(name string) string { return strings.TrimSpace(a.query.Get(name)) }
func (a *asked) yes(name string) bool    { return a.query.Get(name) == "yes" }

// amount reads a number with its unit in SI; 0 if nothing was typed. A fraction
// such as 1/4 is a number too.
func (a *asked) amount(name string, dim quantity.Dimension, unit string) float64 {
	text := a.word(name)
	if text == "" {
		return 0
	}
	if u := a.query.Get(name + "-unit"); u != "" {
		unit = u
	}
	if top, bottom, ok := strings.Cut(text, "/"); ok {
		x, errTop := strconv.ParseFloat(strings.TrimSpace(top), 64)
		y, errBottom := strconv.ParseFloat(strings.TrimSpace(bottom), 64)
		if errTop != nil || errBottom != nil || y == 0 {
			a.mistake(name, "Not a number: "+text+".")
			return 0
		}
		text = strconv.FormatFloat(x/y, 'g', -1, 64)
	}
	v, err := tradeunit.Parse(text, dim, unit)
	if err != nil {
		a.mistake(name, capital(err.Error())+".")
		return 0
	}
	if v.SI(0) < 0 {
		a.mistake(name, "This cannot be below zero.")
		return 0
	}
	return v.SI(0)
}

func (a *asked) whole(name string) int {
	text := a.word(name)
	if text == "" {
		return 0
	}
	n, err := strconv.Atoi(text)
	if err != nil || n < 0 || n > 99 {
		a.mistake(name, "Not a small whole number: "+text+".")
		return 0
	}
	return n
}

// fails turns an error of a planner into what is wrong with the form.
func (a *asked) fails(err error) bool {
	var out *quantity.RangeError
	var input *replace.InputError
	switch {
	case err == nil:
		return len(a.wrong.Fields) > 0
	case errors.As(err, &out):
		a.wrong.Message = fmt.Sprintf("%s: %s is outside what can be answered, %s to %s.", capital(out.Name), inTrade(out.Unit, out.Value), inTrade(out.Unit, out.Min), inTrade(out.Unit, out.Max))
	case errors.As(err, &input):
		a.wrong.Message = fmt.Sprintf("%s: %s.", capital(input.Subject), input.Reason)
	default:
		a.wrong.Message = capital(err.Error()) + "."
	}
	return true
}

// inTrade prints a limit in the unit on the plates.
func inTrade(unit string, si float64) string {
	for symbol, dim := range map[string]quantity.Dimension{"F": quantity.DimCapacitance, "m": quantity.DimLength, "1/s": quantity.DimRotation} {
		if unit == symbol {
			return showPart(dim, si)
		}
	}
	return plainNumber(si) + " " + unit
}

// partUnits are the units in which parts are marked.
var partUnits = map[quantity.Dimension]string{
	quantity.DimCapacitance: "µF", quantity.DimVoltage: "V", quantity.DimCurrent: "A", quantity.DimLength: "in.",
	quantity.DimRotation: "rpm", quantity.DimFrequency: "Hz", quantity.DimRatio: "%",
}

// horsepowers are the ratings printed as fractions.
var horsepowers = []struct {
	text string
	hp   float64
}{{"1/12", 1. / 12}, {"1/10", 0.1}, {"1/8", 0.125}, {"1/6", 1. / 6}, {"1/5", 0.2}, {"1/4", 0.25}, {"1/3", 1. / 3}, {"1/2", 0.5}, {"3/4", 0.75}, {"1", 1}}

// showPart prints an amount as it is marked on parts; number and unit stay in
// one line.
func showPart(dim quantity.Dimension, si float64) string {
	switch dim {
	case replace.DimVoltAmps:
		return plainNumber(si) + "\u00a0VA"
	case quantity.DimPower:
		u, err := tradeunit.Lookup(dim, "hp")
		if err != nil {
			panic("web: " + err.Error())
		}
		hp := u.Of(si, 0)
		for _, x := range horsepowers {
			if math.Abs(hp/x.hp-1) < 0.02 {
				return x.text + "\u00a0hp"
			}
		}
		return plainNumber(hp) + "\u00a0hp"
	}
	u, err := tradeunit.Lookup(dim, partUnits[dim])
	if err != nil {
		return plainNumber(si)
	}
	return plainNumber(u.Of(si, 0)) + "\u00a0" + u.Symbol
}

// plainNumber prints three digits, and whole numbers whole.
func plainNumber(x float64) string {
	if math.Abs(x) >= 100 {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'g', 3, 64)
}

// say words a sentence of a planner.
func say(s replace.Sentence) string { return s.In("en", showPart) }

func sayAll(list []replace.Sentence) (texts []string) {
	for _, s := range list {
		texts = append(texts, say(s))
	}
	return texts
}

// cautions words cautions: in full where they come first, after that by their
// first sentence.
func (a *asked) cautions(ids []string) (texts []string) {
	for _, id := range ids {
		c, known := a.server.tests().Caution(id)
		if !known {
			continue
		}
		text := c.Text.EN
		if a.cautioned[id] {
			text = firstSentence(text)
		}
		a.cautioned[id] = true
		texts = append(texts, text)
	}
	return texts
}

func (a *asked) steps(list []replace.Step) (steps []page.Step) {
	for _, x := range list {
		steps = append(steps, page.Step{Text: say(x.Sentence), Cautions: a.cautions(x.Cautions)})
	}
	return steps
}

// number draws a field for an amount; what the plate tells comes with its unit.
func (a *asked) number(name, label, hint string, dim quantity.Dimension, unit string) page.Field {
	field := a.f.amount(name, name, label, hint, dim, unit)
	if number, known, ok := strings.Cut(field.Value, " "); ok && !a.sent {
		field.Value, field.Unit = number, known
	}
	return field
}

// answer makes the answer of a planner of parts ready to be shown.
func (a *asked) answer(x replace.Answer, lines []string) *page.Replacement {
	r := &page.Replacement{Doubts: sayAll(x.Doubts), Grade: "fails", Headline: "Nothing on the truck fits", Buy: sayAll(x.Buy)}
	if len(lines) == 0 {
		r.Headline, r.Grade = "What to ask for", ""
	}
	name := func(c replace.Choice) string {
		var parts []string
		for _, p := range c.Parts {
			parts = append(parts, lines[p])
		}
		return strings.Join(parts, " and ")
	}
	if best, ok := x.Best(); ok {
		r.Grade, r.Headline = "holds", name(best)
		r.Lead = "Fits, and is on the truck."
		if best.Grade == replace.FitsWithNote {
			r.Grade, r.Lead = "", "On the truck, and fits if you see to the notes."
		} else {
			r.Buy = nil
		}
	} else if len(lines) > 0 {
		r.Lead = "Must be bought."
	}
	for i, c := range x.Choices {
		choice := page.PartChoice{Name: name(c), Grade: "Fits", Class: "holds", Why: sayAll(c.Why)}
		if c.Grade == replace.FitsWithNote {
			choice.Grade, choice.Class = "Fits with a note", ""
		}
		if i == 0 {
			choice.Name = "Why this one"
		}
		choice.Notes = a.steps(c.Notes)
		r.Choices = append(r.Choices, choice)
	}
	for _, c := range x.Refused {
		r.Refused = append(r.Refused, page.PartChoice{Name: name(c), Why: sayAll(c.Why)})
	}
	r.Steps = a.steps(x.Steps)
	return r
}

// truck asks for what is on the truck.
func (a *asked) truck(example string) page.FieldSet {
	field := a.f.field(page.Story, "truck", "truck", "Labels, a line each", "As printed, such as “"+example+"”. A name and a colon may stand before it.")
	return page.FieldSet{Heading: "On the truck", Fields: []page.Field{field}}
}

// labels reads what is on the truck.
func labels[L any](a *asked, read func(string) (L, error)) ([]L, []string) {
	list, lines, err := readLabels(a.query.Get("truck"), read)
	if err != nil {
		a.mistake("truck", capital(err.Error())+".")
	}
	return list, lines
}
