package web

import (
	"fmt"
	"math"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"rung/internal/chart"
	"rung/internal/ledger"
	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// trends are the checks whose past is drawn on the page of a unit, by its kind.
var trends = map[string][]string{
	"outdoor-unit": {"gauge-pressures", "sh-sc", "a-common-compressor", "a-fan", "cap-bench"},
	"air-handler":  {"delta-t-air", "esp-total", "a-blower"},
	"furnace":      {"delta-t-air", "esp-total", "a-blower"},
}

// unit shows a unit: its nameplate, its past readings, the visits.
func (s *Server) unit(w http.ResponseWriter, r *http.Request) error {
	p, x, u, err := s.Visits.Unit(r.Context(), record.UnitID(r.PathValue("unit")))
	if err != nil {
		return err
	}
	plate, err := s.Visits.Plate(r.Context(), u.Unit)
	if err != nil {
		return err
	}
	view := page.UnitPage{
		Shell: page.Shell{Title: s.unitName(u), Place: p.Name + " · " + x.Title(), Back: page.Link{Text: x.Title(), Href: systemPath(x.System)}, Notice: notices[r.URL.Query().Get("done")],
			Aside: page.Link{Text: "Replace a part", Href: "/replace?unit=" + url.QueryEscape(string(u.Unit))}},
		PlateHref: unitPath(u.Unit) + "/nameplate",
		Visits:    s.visitList(p, oldestFirst(p.VisitsTo(x.System))),
		Main:      page.Link{Text: "Open a visit", Href: systemPath(x.System) + "/open"},
	}
	if view.Disputes, err = s.unitDisputes(r, p, u); err != nil {
		return err
	}
	if view.Photos, err = s.unitPhotos(r, p, u); err != nil {
		return err
	}
	for _, f := range plate {
		fact := page.Fact{Name: f.Name, Value: plateValue(f, f.Value), Doubt: f.How}
		if f.Value == "" && f.Assumed == "" {
			continue
		}
		if f.Value == "" {
			fact.Value, fact.Doubt = plateValue(f, f.Assumed), "assumed"
			view.Unknown++
		}
		view.Plate = append(view.Plate, fact)
	}
	for i := len(u.Notes) - 1; i >= 0; i-- {
		view.Notes = append(view.Notes, page.Fact{Name: s.day(u.Notes[i].Stamp.At), Value: u.Notes[i].Text})
	}
	for _, id := range trends[u.Kind] {
		drawn, err := s.trendsOf(r, x.System, id)
		if err != nil {
			return err
		}
		view.Trends = append(view.Trends, drawn...)
	}
	drifts, err := s.driftsOf(r, x.System, trends[u.Kind])
	if err != nil {
		return err
	}
	view.Trends = append(view.Trends, drifts...)
	for i := range view.Trends {
		view.Trends[i].Act = recommendLink(p, x.System, view.Trends[i].Recommend)
	}
	return s.render(w, r, http.StatusOK, page.Unit(view))
}

// recommendLink leads to the form of a recommendation on the open visit to the
// system; nowhere without one, for a recommendation belongs to a visit.
func recommendLink(p *ledger.Property, system record.SystemID, what string) page.Link {
	for _, v := range p.VisitsTo(system) {
		if v.Closed == nil && what != "" {
			return page.Link{Text: "Recommend it", Href: visitPath(v.Visit) + "/later?" + url.Values{"kind": {"recommendation"}, "what": {what}}.Encode()}
		}
	}
	return page.Link{}
}

// plateValue puts a word of the plate into its wording.
func plateValue(f visit.PlateField, value string) string { return named(f.Words, value) }

// trendsOf draws the past of every point of a check that is read in numbers.
func (s *Server) trendsOf(r *http.Request, system record.SystemID, id string) ([]page.Trend, error) {
	check, known := s.tests().Check(id)
	if !known {
		return nil, nil
	}
	var list []page.Trend
	for i := range check.Points {
		p := &check.Points[i]
		if p.Dim == quantity.DimNone {
			continue
		}
		drawn, err := s.trend(r, system, check.ID, p.ID, s.title(check, p))
		if err != nil {
			return nil, err
		}
		if drawn != nil {
			list = append(list, *drawn)
		}
	}
	return list, nil
}

// trend draws the past of a point; nil if there is none in numbers.
func (s *Server) trend(r *http.Request, system record.SystemID, check, point, name string) (*page.Trend, error) {
	history, err := s.Visits.History(r.Context(), system, check, point)
	if err != nil {
		return nil, err
	}
	var past []chart.Past
	for _, h := range history {
		if !math.IsNaN(h.Value) {
			past = append(past, chart.Past{On: h.Stamp.At, Value: h.Value, Text: h.Text, Settled: !h.Unsettled})
		}
	}
	if len(past) == 0 {
		return nil, nil
	}
	last := history[len(history)-1].Showing
	t := &page.Trend{Name: name, Last: last}
	ahead, err := s.Visits.Forecast(r.Context(), system, check, point)
	if err != nil {
		return nil, err
	}
	t.SVG = chart.TrendAhead(past, drawnAhead(ahead), name+", last "+last)
	t.Forecast, t.Recommend = ahead.Text, ahead.Recommend
	return t, nil
}

// drawnAhead is what is drawn of a forecast.
func drawnAhead(f visit.Forecast) chart.Ahead {
	if f.At.IsZero() {
		return chart.Ahead{}
	}
	return chart.Ahead{On: f.At, Value: f.Expected, Low: f.Low, High: f.High, Limit: f.Limit}
}

// driftsOf draws the differences that are read with some checks, each against what the model
// expected on the day.
func (s *Server) driftsOf(r *http.Request, system record.SystemID, checks []string) ([]page.Trend, error) {
	if !slices.Contains(checks, "sh-sc") && !slices.Contains(checks, "delta-t-air") {
		return nil, nil
	}
	all, err := s.Visits.Drifts(r.Context(), system)
	if err != nil {
		return nil, err
	}
	var list []page.Trend
	for _, d := range all {
		if !slices.Contains(checks, d.Check) {
			continue
		}
		var past []chart.Past
		for _, p := range d.Points {
			over, low, high := p.Beside()
			past = append(past, chart.Past{On: p.At, Value: over, Text: signed(over), Settled: true, Low: low, High: high})
		}
		var ahead chart.Ahead
		if !d.Forecast.At.IsZero() {
			ahead = chart.Ahead{On: d.Forecast.At, Value: d.Ahead, Low: d.Low, High: d.High, Limit: d.Limit}
		}
		last := d.Points[len(d.Points)-1]
		list = append(list, page.Trend{Name: d.Name, Last: last.Shows + ", " + last.Over, SVG: chart.TrendAhead(past, ahead, d.Name+", last "+last.Shows+", "+last.Over),
			Key:      "In °F over or under the model of this system on that day; the bars are where a sound one lies nineteen times of twenty. A dashed box is the forecast, the red line the tolerance." + humid(d.Points),
			Forecast: d.Forecast.Text, Recommend: d.Forecast.Recommend})
	}
	return list, nil
}

// signed prints a difference to a tenth, with its sign; nothing at all has none.
func signed(x float64) string {
	if math.Abs(x) < 0.05 {
		return "0.0"
	}
	return fmt.Sprintf("%+.1f", x)
}

// humid says that the wet bulb was not recorded on some of the days.
func humid(list []visit.DriftPoint) string {
	if slices.ContainsFunc(list, func(p visit.DriftPoint) bool { return p.Humid }) {
		return " Where no wet bulb was recorded they are wider."
	}
	return ""
}

// nameplate asks for what is on the plate.
func (s *Server) nameplate(w http.ResponseWriter, r *http.Request) error {
	return s.showNameplate(w, r, nil)
}

// quick are the fields that matter most, asked first.
var quick = []string{"refrigerant", "nominal-cooling", "metering", "run-capacitor", "factory-charge", "rated-load-amps", "made"}

func (s *Server) showNameplate(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	_, x, u, err := s.Visits.Unit(r.Context(), record.UnitID(r.PathValue("unit")))
	if err != nil {
		return err
	}
	plate, err := s.Visits.Plate(r.Context(), u.Unit)
	if err != nil {
		return err
	}
	known := map[string]string{}
	for _, f := range plate {
		known[f.ID] = f.Value
	}
	f := fill(known, r.PostForm, wrong)
	first := page.FieldSet{Heading: "What matters most"}
	other := page.FieldSet{Heading: "The rest of the plate", Folded: true}
	for _, field := range plate {
		if len(field.Units) > 0 && !slices.Contains(field.Units, u.Kind) {
			continue
		}
		if slices.Contains(quick, field.ID) {
			first.Fields = append(first.Fields, plateField(f, field))
		} else {
			other.Fields = append(other.Fields, plateField(f, field))
		}
	}
	form := page.FormPage{
		Shell:  page.Shell{Title: "Nameplate", Place: x.Title() + " · " + s.unitName(u), Back: page.Link{Text: s.unitName(u), Href: unitPath(u.Unit)}, Notice: notices[r.URL.Query().Get("done")]},
		Intro:  "Type what you can read. Leave the rest empty: it is assumed, and shown as assumed.",
		Action: unitPath(u.Unit) + "/nameplate", Submit: "Save nameplate", Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
		Sets: fieldSets(first, other), Wrong: f.rest(),
	}
	return s.render(w, r, formStatus(wrong), page.Form(form))
}

// fieldSets leaves out empty sets; a set on its own is not folded.
func fieldSets(sets ...page.FieldSet) []page.FieldSet {
	var list []page.FieldSet
	for _, set := range sets {
		if len(set.Fields) > 0 {
			list = append(list, set)
		}
	}
	if len(list) == 1 {
		list[0].Heading, list[0].Folded = "", false
	}
	return list
}

func plateField(f *filling, p visit.PlateField) page.Field {
	var field page.Field
	switch {
	case len(p.Words) > 0:
		field = f.choose(p.ID, p.Name, p.Where, p.Words)
		field.Choices = append(field.Choices, page.Choice{Value: "-", Label: "Not known"})
	case p.Plain:
		field = f.field(page.Number, p.ID, p.ID, p.Name, p.Where)
	case p.Dim != "":
		// What is known is shown as read, number and unit in one.
		field = f.amount(p.ID, p.ID, p.Name, p.Where, p.Dim, p.Unit)
		if number, unit, ok := strings.Cut(field.Value, " "); ok && f.wrong == nil {
			field.Value, field.Unit = number, unit
		}
	default:
		field = f.words(p.ID, p.Name, p.Where)
	}
	field.Assumed = plateValue(p, p.Assumed)
	return field
}

func (s *Server) recordNameplate(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.UnitID(r.PathValue("unit"))
	plate, err := s.Visits.Plate(r.Context(), id)
	if err != nil {
		return err
	}
	values := map[string]string{}
	for _, f := range plate {
		if text := withUnit(r.PostForm, f.ID); text != "" {
			values[f.ID] = text
		}
	}
	if err := s.Visits.RecordPlate(r.Context(), by, id, values); err != nil {
		return s.again(w, r, err, s.showNameplate)
	}
	return see(w, r, unitPath(id), url.Values{"done": {"nameplate"}})
}
