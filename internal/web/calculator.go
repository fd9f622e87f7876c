package web

import (
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"net/url"
	"strconv"
	"strings"

	"rung/internal/calc"
	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/tradeunit"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// documentField is the name of the only field of a calculator of whole documents.
const documentField = "document"

// calculators lists them all by subject.
func (s *Server) calculators(w http.ResponseWriter, r *http.Request) error {
	ask := asking{units: unitsOf(r.URL.Query()), visit: r.URL.Query().Get("visit")}
	p := page.CalculatorsPage{Shell: page.Shell{Title: "Calculators", Back: ask.out()}, Switch: ask.unitSwitch("/calculators", nil)}
	for _, subject := range calc.Subjects() {
		list := page.LinkList{Heading: subject}
		for _, c := range calc.All() {
			if c.Subject == subject {
				list.Links = append(list.Links, page.Link{Text: c.Title, Href: ask.path(c.Name, nil), Note: firstSentence(c.About)})
			}
		}
		p.Lists = append(p.Lists, list)
	}
	fits := page.Link{Text: "What fits instead", Href: "/replace" + replaceQuery(r.URL.Query()), Note: "Capacitor, contactor, motor, transformer, fuse, thermostat, branch circuit."}
	p.Lists = append(p.Lists, page.LinkList{Heading: "Replace a part", Links: []page.Link{fits}})
	return s.render(w, r, http.StatusOK, page.Calculators(p))
}

// firstSentence cuts a text after its first sentence.
func firstSentence(text string) string {
	if first, _, ok := strings.Cut(text, ". "); ok {
		return first + "."
	}
	return text
}

// calculator shows one calculator: its form, and its result if the address
// carries what was filled in.
func (s *Server) calculator(w http.ResponseWriter, r *http.Request) error {
	c, ok := calc.Lookup(r.PathValue("calculator"))
	if !ok {
		return &visit.Error{Kind: visit.NotFound, Message: "There is no such calculator."}
	}
	ask := askingOf(c, r.URL.Query())
	p := page.CalculatorPage{
		Shell: page.Shell{Title: c.Title, Back: page.Link{Text: "Calculators", Href: ask.list()}}, Switch: ask.unitSwitch("/calculators/"+c.Name, ask.typed),
		About: c.About, Source: sourceOf(c), Cautions: present(c.Caution), Action: "/calculators/" + c.Name, Hidden: ask.hidden(),
		Try: page.Link{Text: "Try an example", Href: ask.path(c.Name, exampleOf(c))},
	}
	known, err := s.knownOf(r, ask)
	if err != nil {
		return err
	}
	a := ask.answer()
	for _, e := range a.wrong {
		if e.Kind == calc.Internal {
			return fmt.Errorf("calculator %s: %w", c.Name, e)
		}
	}
	if len(a.wrong) == 0 && ask.sent {
		p.Result = s.result(ask, a)
		p.Title = a.title(c)
	}
	f := formOf(ask, known, a.wrong)
	p.Sets, p.Wrong = f.sets(c), f.rest(c)
	status := http.StatusOK
	if len(a.wrong) > 0 {
		status = http.StatusUnprocessableEntity
	}
	return s.render(w, r, status, page.Calculator(p))
}

// sourceOf is the source of a calculator without what only programmers look up.
func sourceOf(c calc.Calculator) string {
	var parts []string
	for _, part := range strings.Split(strings.TrimPrefix(c.Source, "published: "), "; ") {
		part, _, _ = strings.Cut(part, ", see package")
		parts = append(parts, part)
	}
	return strings.Join(parts, "; ")
}

// asking is what the address of a calculator asks for.
type asking struct {
	calc.Calculator
	typed url.Values // the fields alone
	units tradeunit.System
	visit string // from which the calculator was opened
	sent  bool   // the form was sent, be it empty
}

func unitsOf(query url.Values) tradeunit.System {
	if query.Get("units") == string(tradeunit.SI) {
		return tradeunit.SI
	}
	return tradeunit.US
}

// askingOf sorts a query: what belongs to no field is left out.
func askingOf(c calc.Calculator, query url.Values) asking {
	a := asking{Calculator: c, typed: url.Values{}, units: unitsOf(query), visit: query.Get("visit")}
	for _, name := range fieldNames(c) {
		for _, key := range []string{name, name + "-unit", name + other} {
			if query.Has(key) {
				a.typed.Set(key, query.Get(key))
				a.sent = true
			}
		}
	}
	return a
}

func fieldNames(c calc.Calculator) []string {
	if c.Whole() {
		return []string{documentField}
	}
	var list []string
	for _, f := range c.Fields {
		list = append(list, f.Name)
	}
	return list
}

// query is the address of typed, with units and visit.
func (a asking) query(typed url.Values) string {
	q := url.Values{}
	for key, values := range typed {
		if values[0] != "" && (!strings.HasSuffix(key, "-unit") || typed.Get(strings.TrimSuffix(key, "-unit")) != "") {
			q[key] = values
		}
	}
	if a.units != tradeunit.US {
		q.Set("units", string(a.units))
	}
	if a.visit != "" {
		q.Set("visit", a.visit)
	}
	if len(q) == 0 {
		return ""
	}
	return "?" + q.Encode()
}

func (a asking) path(name string, typed url.Values) string {
	return "/calculators/" + name + a.query(typed)
}

func (a asking) list() string { return "/calculators" + a.query(nil) }

// out leads to where the calculators were opened from.
func (a asking) out() page.Link {
	if a.visit != "" {
		return page.Link{Text: "Visit", Href: visitPath(record.VisitID(url.PathEscape(a.visit)))}
	}
	return page.Link{Text: "Start", Href: "/"}
}

func (a asking) unitSwitch(path string, typed url.Values) page.UnitSwitch {
	us, si := a, a
	us.units, si.units = tradeunit.US, tradeunit.SI
	return page.UnitSwitch{
		{Link: page.Link{Text: "US units", Href: path + us.query(typed)}, Here: a.units == tradeunit.US},
		{Link: page.Link{Text: "SI units", Href: path + si.query(typed)}, Here: a.units == tradeunit.SI},
	}
}

// hidden carries units and visit through the form.
func (a asking) hidden() []page.Hidden {
	list := []page.Hidden{{Name: "units", Value: string(a.units)}}
	if a.visit != "" {
		list = append(list, page.Hidden{Name: "visit", Value: a.visit})
	}
	return list
}

// other ends the name of the field for what is not on a list.
const other = "-other"

// text is what was typed into a field, with its unit; what is typed beside a
// list goes before what is chosen from it.
func (a asking) text(f calc.Field) string {
	if free := strings.TrimSpace(a.typed.Get(f.Name + other)); free != "" {
		return free
	}
	text := withUnit(a.typed, f.Name)
	if text == "" && a.units == tradeunit.SI {
		return f.UsualSI
	}
	if f.Dim == quantity.DimNone || text == "" || a.typed.Has(f.Name+"-unit") {
		return text
	}
	if _, err := strconv.ParseFloat(text, 64); err == nil { // a bare number; "5 ft2" has its unit
		return text + " " + f.ShownIn(a.units).Symbol
	}
	return text
}

// answered is the result of a calculator, or what is wrong with the form.
type answered struct {
	in, out calc.Values
	doc     any // of a calculator of whole documents
	wrong   []*calc.Error
}

// answer works it out, if the form was sent.
func (a asking) answer() answered {
	if !a.sent {
		return answered{}
	}
	if a.Whole() {
		return a.answerDocument()
	}
	typed := map[string]string{}
	for _, f := range a.Fields {
		typed[f.Name] = a.text(f)
	}
	in, wrong := a.Read(func(field string) string { return typed[field] })
	if len(wrong) > 0 {
		return answered{wrong: wrong}
	}
	out, err := a.Run(in)
	if err != nil {
		return answered{wrong: []*calc.Error{calcError(err)}}
	}
	return answered{in: in, out: out}
}

func (a asking) answerDocument() answered {
	doc, good := a.RunJSON([]byte(a.typed.Get(documentField)), a.units)
	if failed, ok := doc.(map[string]*calc.Error); ok && !good {
		e := *failed["error"]
		e.Field = documentField
		return answered{wrong: []*calc.Error{&e}}
	}
	return answered{doc: doc}
}

func calcError(err error) *calc.Error {
	var e *calc.Error
	if errors.As(err, &e) {
		return e
	}
	return &calc.Error{Kind: calc.Internal, Message: err.Error()}
}

// title names the result.
func (a answered) title(c calc.Calculator) string {
	if f := a.in.Word("refrigerant"); f != "" {
		return f + " " + strings.ToLower(c.Title[:1]) + c.Title[1:]
	}
	return c.Title
}

// knownOf is what the visit tells before anything is typed: the refrigerant on
// the plate, the elevation of the house.
func (s *Server) knownOf(r *http.Request, a asking) (map[string]string, error) {
	if a.visit == "" || a.sent {
		return nil, nil
	}
	here, err := s.Visits.Visit(r.Context(), record.VisitID(a.visit))
	if err != nil {
		return nil, err
	}
	known := map[string]string{"elevation": asRead(here.Property.Elevation)}
	if u := noteUnit(here); u != nil {
		known["refrigerant"] = plateText(u, "refrigerant")
	}
	return known, nil
}

// exampleOf is the example of a calculator as a filled form.
func exampleOf(c calc.Calculator) url.Values {
	if c.Whole() {
		return url.Values{documentField: {c.Example}}
	}
	var fields map[string]json.RawMessage
	if json.Unmarshal([]byte(c.Example), &fields) != nil {
		return nil
	}
	typed := url.Values{}
	for _, f := range c.Fields {
		value, given := fields[f.Name]
		if !given {
			continue
		}
		typed.Set(f.Name, asTyped(f, value))
	}
	return typed
}

// asTyped writes a JSON value as one would type it.
func asTyped(f calc.Field, value json.RawMessage) string {
	var raw tradeunit.Raw
	switch {
	case f.Bool:
		return map[string]string{"true": "yes", "false": "no"}[string(value)]
	case raw.UnmarshalJSON(value) == nil:
		return string(raw)
	case f.List:
		var parts []tradeunit.Raw
		if json.Unmarshal(value, &parts) != nil {
			return ""
		}
		var texts []string
		for _, part := range parts {
			texts = append(texts, string(part))
		}
		return strings.Join(texts, ", ")
	case f.Dim == quantity.DimRatio:
		return string(value) + " 1"
	}
	return string(value)
}
