package web

import (
	"cmp"
	"context"
	"maps"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strconv"
	"strings"

	"rung/internal/chart"
	"rung/internal/fieldtest"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// A point of a check is the field "point-" + its id; "blank-" + its id ticks
// that the meter shows nothing, "open-" + its id that it shows OL.
const (
	pointField = "point-"
	blankField = "blank-"
	openField  = "open-"
)

// fromProof is the "from" of a check that was opened on the proof page; what
// is done with it leads back there.
const fromProof = "proof"

// back is where a form sent from leads to.
func back(id record.VisitID, from string) string {
	if from == fromProof {
		return visitPath(id) + "/proof"
	}
	return visitPath(id)
}

// card draws a check with the place to enter what was read. typed and wrong
// are what was sent and refused, if it was.
func (s *Server) card(ctx context.Context, here visit.Here, c visit.Card, typed url.Values, wrong *visit.Error) page.CheckCard {
	base, l := visitPath(here.Visit.Visit), visit.LanguageOf(ctx)
	f := fill(map[string]string{"demand": c.Demand.ID, "settled": settledBefore(here)}, typed, wrong)
	card := page.CheckCard{
		ID: c.Check, Name: c.Name, Why: c.Why, Minutes: int(math.Ceil(c.Minutes)), SetUp: int(math.Ceil(c.SetUp)), Power: page.Say(ctx, powers[c.Power]), Instrument: instrument(c),
		Setup: c.Setup, Steps: pageSteps(c.Steps), Cautions: beforeSteps(c), Measures: c.Measures, Where: c.Where, Refused: c.Refused, Outcomes: c.Outcomes,
		Hidden: []page.Hidden{s.formID(typed, wrong), {Name: "epoch", Value: strconv.Itoa(here.Visit.Epoch())}},
		Action: base + "/readings", RefuseURL: base + "/refusals", RefuseID: s.Visits.NewForm(),
		Demand:   f.choose("demand", page.Say(ctx, "What the thermostat calls for"), "", c.Demands),
		Note:     f.words("note", page.Say(ctx, "Note"), page.Say(ctx, "Anything odd: smell, burn mark, loose lug.")),
		Refusals: pageChoices(l.Answers("refusal")),
	}
	if c.AskSettled != "" {
		card.Hidden = append(card.Hidden, page.Hidden{Name: "settled-asked", Value: "yes"})
		field := f.choose("settled", page.Say(ctx, "Has it settled?"), strings.TrimSuffix(capital(c.AskSettled), ".")+". "+page.Say(ctx, "Before that it is kept as not settled."),
			[]visit.Choice{{ID: "yes", Name: page.Say(ctx, "Settled")}, {ID: "no", Name: page.Say(ctx, "Not yet")}})
		card.Settled, card.Clock = &field, string(here.Visit.Visit)
	}
	for _, p := range c.Points {
		entry := pointEntry(ctx, f, p)
		if entry.Before == "" {
			entry.Before = s.lastVisit(ctx, here, c.Check, p.Point)
		}
		card.Points = append(card.Points, entry)
	}
	if wrong != nil {
		card.Wrong = f.rest()
	}
	return card
}

// powers words the power a check is done with; a look needs none.
var powers = map[string]string{"on": "on", "off": "off", "either": "on or off"}

// instrument is what the check needs in the hand, empty if nothing.
func instrument(c visit.Card) string {
	if c.Instrument == "none" {
		return ""
	}
	return c.Instrument
}

func pageSteps(steps []visit.Step) []page.Step {
	var list []page.Step
	for _, x := range steps {
		list = append(list, page.Step(x))
	}
	return list
}

// beforeSteps returns the cautions that belong to no step: they come first.
func beforeSteps(c visit.Card) []string {
	return slices.DeleteFunc(slices.Clone(c.Cautions), func(caution string) bool {
		return slices.ContainsFunc(c.Steps, func(x visit.Step) bool { return slices.Contains(x.Cautions, caution) })
	})
}

// settledBefore keeps the last answer: what had settled stays settled until
// the next repair.
func settledBefore(here visit.Here) string {
	readings := here.Visit.Counting()
	for i := len(readings) - 1; i >= 0; i-- {
		if r := readings[i]; r.Epoch == here.Visit.Epoch() && r.Demand == "cool" && r.Unit != "" && !r.Unsettled {
			return "yes"
		}
	}
	return ""
}

// lastVisit is what a point showed when the system was last visited, empty if
// it was never read.
func (s *Server) lastVisit(ctx context.Context, here visit.Here, check, point string) string {
	past := here.Property.History(here.System.System, check, point)
	for _, r := range slices.Backward(past) {
		if r.Visit.Visit != here.Visit.Visit {
			return s.in(ctx).shown(r.Reading) + ", " + s.onDay(ctx, r.Stamp.At)
		}
	}
	return ""
}

func pointEntry(ctx context.Context, f *filling, p visit.CardPoint) page.PointEntry {
	name := pointField + p.Point
	e := page.PointEntry{Before: p.Before}
	if p.BeforeRepair {
		e.Before += ", " + page.Say(ctx, "before the repair")
	}
	if len(p.Words) > 0 {
		e.Field = f.field(page.Choose, name, p.Point, capital(p.Name), "")
		e.Field.Choices = pageChoices(p.Words)
	} else {
		e.Field = f.amount(name, p.Point, capital(p.Name), "", p.Dim, p.Unit)
		if len(p.Units) > 0 {
			e.Field.Units = onMeters(p.Units)
		}
		blank := f.field(page.Tick, blankField+p.Point, "", capital(p.Name)+": "+page.Say(ctx, "the meter shows nothing"), "")
		e.Blank = &blank
		if p.OL {
			open := f.field(page.Tick, openField+p.Point, "", page.Say(ctx, "Shows OL"), "")
			e.Open = &open
		}
	}
	expect(ctx, &e, p)
	return e
}

// most is how many expectations beside the healthy one are worth a look.
const most = 3

// expect says what a healthy unit shows, and what the leading causes show
// that is something else; causes that show the same stand together. Where
// nothing differs, that is said once.
func expect(ctx context.Context, e *page.PointEntry, p visit.CardPoint) {
	var ranges []chart.Range
	for i, x := range p.Expect {
		at := slices.IndexFunc(e.Expect, func(known page.Expect) bool { return known.Shows == x.Shows })
		switch {
		case at == 0 && i > 0:
			continue
		case at > 0:
			e.Expect[at].If += "; " + x.If
			if at < len(ranges) {
				ranges[at].Name = e.Expect[at].If
			}
			continue
		case len(e.Expect) > most:
			continue
		}
		e.Expect = append(e.Expect, page.Expect{If: x.If, Shows: x.Shows})
		if x.Number {
			ranges = append(ranges, chart.Range{Name: x.If, Lo: x.Low, Hi: x.High, Text: x.Shows})
		}
	}
	if len(p.Expect) > 1 && len(e.Expect) == 1 {
		e.Same = page.Say(ctx, "The leading causes show the same.")
	}
	if len(ranges) > 0 && len(ranges) == len(e.Expect) {
		e.Range = chart.Ranges(ranges, math.NaN(), page.Say(ctx, "What to expect of")+" "+p.Name)
	}
}

// offMeters are units that no meter of the trade shows.
//
// practice: seen on instruments; the base units of SI are for computing.
var offMeters = map[string]bool{"K": true, "Pa": true, "F": true, "W": true, "m³/s": true, "kg/s": true, "kg/kg": true, "1": true}

// onMeters leaves out units that no meter shows. The farad and the degree
// Fahrenheit share no dimension, so "F" can only be the farad here.
func onMeters(units []string) []string {
	return slices.DeleteFunc(slices.Clone(units), func(u string) bool { return offMeters[u] })
}

// check shows one check on its own, chosen freely.
func (s *Server) check(w http.ResponseWriter, r *http.Request) error {
	return s.showCheck(w, r, r.PathValue("check"), r.URL.Query().Get("demand"), nil)
}

func (s *Server) showCheck(w http.ResponseWriter, r *http.Request, id, demand string, wrong *visit.Error) error {
	r = s.inLanguage(r)
	ctx := r.Context()
	here, err := s.here(r)
	if err != nil {
		return err
	}
	c, err := s.Visits.Card(ctx, here.Visit.Visit, id, demand)
	if err != nil {
		return err
	}
	card := s.card(ctx, here, c, r.PostForm, wrong)
	if card.Photos, err = s.visitPhotos(r, here, id); err != nil {
		return err
	}
	again := checkPath(here.Visit.Visit, c)
	if r.FormValue("from") != fromProof {
		shell := s.shell(r, here, c.Name, "Check")
		shell.Back = page.Link{Text: page.Say(ctx, "Visit"), Href: visitPath(here.Visit.Visit)}
		return s.render(w, r, formStatus(wrong), page.Check(page.CheckPage{Shell: shell, Card: card, Languages: s.languages(r, again)}))
	}
	card.From = fromProof
	shell := s.shell(r, here, c.Name, "Proof")
	shell.Back = page.Link{Text: page.Say(ctx, "Proof"), Href: back(here.Visit.Visit, fromProof)}
	return s.render(w, r, formStatus(wrong), page.Check(page.CheckPage{Shell: shell, Card: card, Languages: s.languages(r, again+"&from="+fromProof)}))
}

// checks lists every check of the system.
func (s *Server) checks(w http.ResponseWriter, r *http.Request) error {
	r = s.inLanguage(r)
	ctx := r.Context()
	here, err := s.here(r)
	if err != nil {
		return err
	}
	p := page.ChecksPage{Shell: s.shell(r, here, page.Say(ctx, "All checks"), "Check")}
	p.Back = page.Link{Text: page.Say(ctx, "Visit"), Href: visitPath(here.Visit.Visit)}
	if p.Groups, err = s.checkGroups(r, here, checkPath); err != nil {
		return err
	}
	return s.render(w, r, http.StatusOK, page.Checks(p))
}

// checkGroups lists every check of the system by what it needs, each a link to
// what href makes of it.
func (s *Server) checkGroups(r *http.Request, here visit.Here, href func(record.VisitID, visit.Card) string) ([]page.LinkList, error) {
	ctx := r.Context()
	cards, err := s.Visits.Checks(ctx, here.Visit.Visit)
	if err != nil {
		return nil, err
	}
	var groups []page.LinkList
	for _, heading := range []string{"No tools", "Power on or off", "Power on", "Power off"} {
		group := page.LinkList{Heading: page.Say(ctx, heading)}
		for _, c := range cards {
			if powerHeading(c) == heading {
				group.Links = append(group.Links, s.checkLink(ctx, here, c, href(here.Visit.Visit, c)))
			}
		}
		if len(group.Links) > 0 {
			groups = append(groups, group)
		}
	}
	return groups, nil
}

func powerHeading(c visit.Card) string {
	if power, told := powers[c.Power]; told {
		return "Power " + power
	}
	return "No tools"
}

func (s *Server) checkLink(ctx context.Context, here visit.Here, c visit.Card, href string) page.Link {
	note := sentence(minutesIn(ctx, c.Minutes+c.SetUp), instrument(c), strings.Join(s.readIn(ctx, here, c.Check), ", "), refusedNote(ctx, c))
	return page.Link{Text: c.Name, Href: href, Note: note}
}

func refusedNote(ctx context.Context, c visit.Card) string {
	if c.Refused == "" {
		return ""
	}
	return page.Say(ctx, "could not do:") + " " + c.Refused
}

// readIn lists what the check showed in this epoch.
func (s *Server) readIn(ctx context.Context, here visit.Here, check string) []string {
	var list []string
	for _, r := range here.Visit.Counting() {
		if r.Check == check && r.Epoch == here.Visit.Epoch() {
			list = append(list, page.Say(ctx, "read")+" "+s.in(ctx).shown(r))
		}
	}
	return list
}

// takeReadings records what a check showed.
func (s *Server) takeReadings(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	in := s.readingsInput(r.PostForm)
	entries, err := s.Visits.TakeReadings(s.inLanguage(r).Context(), by, id, in)
	if err != nil {
		if e, ok := mendable(err); ok {
			return s.showCheck(w, r, in.Check, in.Demand, e)
		}
		return err
	}
	query := url.Values{"done": {"reading"}}
	for _, e := range entries {
		query.Add("entry", string(e))
	}
	return see(w, r, back(id, r.PostForm.Get("from")), query)
}

// readingsInput reads the form of a check: as typed, nothing converted.
//
// Whoever does not say that it had run 15 minutes has not said that the
// reading is settled.
func (s *Server) readingsInput(typed url.Values) visit.ReadingsInput {
	in := visit.ReadingsInput{Check: typed.Get("check"), Demand: typed.Get("demand"), Note: typed.Get("note")}
	_, asked := typed["settled-asked"]
	in.Unsettled = asked && typed.Get("settled") != "yes"
	if epoch, err := strconv.Atoi(typed.Get("epoch")); err == nil {
		in.Epoch = &epoch
	}
	for _, point := range s.pointsIn(in.Check, typed) {
		p := visit.PointInput{Point: point, Text: strings.TrimSpace(typed.Get(pointField + point)), Unit: typed.Get(pointField + point + "-unit")}
		p.NotReadable = typed.Get(blankField+point) == "yes"
		if typed.Get(openField+point) == "yes" {
			p.Text = "OL"
		}
		in.Points = append(in.Points, p)
	}
	return in
}

// pointsIn returns the points of which something was sent, in the order in which
// the check asks for them; those it does not know come first, by their id.
func (s *Server) pointsIn(id string, typed url.Values) []string {
	points := map[string]bool{}
	for name := range typed {
		for _, prefix := range []string{pointField, blankField, openField} {
			if point, ok := strings.CutPrefix(name, prefix); ok && !strings.HasSuffix(point, "-unit") {
				points[point] = true
			}
		}
	}
	list := slices.Sorted(maps.Keys(points))
	if check, known := s.tests().Check(id); known {
		slices.SortStableFunc(list, func(a, b string) int { return cmp.Compare(placeOf(check, a), placeOf(check, b)) })
	}
	return list
}

func placeOf(c *fieldtest.Check, point string) int {
	return slices.IndexFunc(c.Points, func(p fieldtest.Point) bool { return p.ID == point })
}

// refuse records that a check could not be done.
func (s *Server) refuse(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	err := s.Visits.Refuse(r.Context(), by, id, visit.RefusalInput{
		Check: r.PostForm.Get("check"), Demand: r.PostForm.Get("demand"), Why: r.PostForm.Get("why"),
	})
	if err != nil {
		return err
	}
	return see(w, r, back(id, r.PostForm.Get("from")), url.Values{"done": {"refusal"}})
}

// withdraw takes entries back, each with the form id that stands before it.
func (s *Server) withdraw(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	forms := r.PostForm["form"]
	if len(r.PostForm["entry"]) == 0 {
		return &visit.Error{Kind: visit.Invalid, Message: "Nothing was named to take back."}
	}
	for i, entry := range r.PostForm["entry"] {
		if i < len(forms) {
			by.Form = forms[i]
		}
		if err := s.Visits.Withdraw(r.Context(), by, id, record.EntryID(entry), "undone on the page"); err != nil {
			return err
		}
	}
	return see(w, r, back(id, r.PostForm.Get("from")), url.Values{"done": {"withdrawn"}})
}
