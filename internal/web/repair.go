package web

import (
	"context"
	"maps"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// failures are the usual reasons why a part fails.
//
// practice: asked by most makers' warranty forms; no source.
var failures = []visit.Choice{
	{ID: "not known", Name: "Not known"}, {ID: "heat", Name: "Heat"}, {ID: "age", Name: "Age"}, {ID: "high or low voltage", Name: "High or low voltage"},
	{ID: "water", Name: "Water"}, {ID: "insects or animals", Name: "Insects or animals"}, {ID: "vibration or rubbing", Name: "Vibration or rubbing"},
	{ID: "dirt", Name: "Dirt"}, {ID: "wrong part before", Name: "Wrong part before"}, {ID: "another part that failed first", Name: "Another part failed first"},
}

func (s *Server) repair(w http.ResponseWriter, r *http.Request) error {
	return s.showRepair(w, r, nil)
}

// showRepair asks what was done. The repair chosen in the address is set.
func (s *Server) showRepair(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	r = s.inLanguage(r)
	ctx := r.Context()
	here, err := s.here(r)
	if err != nil {
		return err
	}
	repairs, err := s.Visits.Repairs(ctx, here.Visit.Visit)
	if err != nil {
		return err
	}
	known := map[string]string{"repair": r.URL.Query().Get("repair"), "unit": outdoorUnit(here)}
	f := fill(known, r.PostForm, wrong)
	form := page.FormPage{
		Shell:  s.shell(r, here, page.Say(ctx, "Record the repair"), "Repair"),
		Intro:  page.Say(ctx, "What you record here begins a new part of the visit: readings after it must show that it worked."),
		Action: visitPath(here.Visit.Visit) + "/repair", Submit: page.Say(ctx, "Record repair"), Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
		Sets: []page.FieldSet{
			{Fields: []page.Field{s.repairField(ctx, f, repairs), f.words("note", page.Say(ctx, "In your own words"), page.Say(ctx, "Needed if it is something else."))}},
			{Heading: page.Say(ctx, "The part"), Intro: page.Say(ctx, "If one was changed."), Fields: []page.Field{
				f.choose("unit", page.Say(ctx, "On which unit?"), "", s.unitChoices(ctx, here)),
				f.words("out", page.Say(ctx, "Part out"), page.Say(ctx, "What is printed on the old part.")),
				f.words("in", page.Say(ctx, "Part in"), page.Say(ctx, "What is printed on the new part.")),
				f.words("measured", page.Say(ctx, "What the old part measured"), page.Say(ctx, "Name, number, unit: HERM 0.4 µF, FAN 4.9 µF")),
				f.field(page.Pick, "why", "why", page.Say(ctx, "Why did it fail?"), page.Say(ctx, "A part seldom fails by itself. “Not known” is an honest answer.")),
				f.field(page.Tick, "kept", "kept", page.Say(ctx, "The old part is kept"), ""),
			}},
		},
	}
	why := &form.Sets[1].Fields[4]
	why.Choices = []page.Choice{{Value: "", Label: page.Say(ctx, "Choose")}}
	for _, x := range failures {
		why.Choices = append(why.Choices, page.Choice{Value: x.ID, Label: page.Say(ctx, x.Name)})
	}
	form.Aside = whatFits(ctx, here, f.value("repair"))
	form.Cautions = repairCautions(ctx, repairs, f.value("repair"))
	form.Hidden = append(form.Hidden, s.leadingCauses(r, here.Visit.Visit)...)
	form.Wrong = f.rest()
	return s.render(w, r, formStatus(wrong), page.Form(form))
}

// whatFits leads to the planner of the part that the chosen repair changes, or
// to the list of planners.
func whatFits(ctx context.Context, here visit.Here, repair string) page.Link {
	path := "/replace"
	if planner := plannerOf(repair); planner != "" {
		path += "/" + planner
	}
	return page.Link{Text: page.Say(ctx, "What fits?"), Href: path + "?visit=" + url.QueryEscape(string(here.Visit.Visit))}
}

// repairField lists the repairs, those that could help first with what they
// would do.
func (s *Server) repairField(ctx context.Context, f *filling, repairs []visit.RepairLine) page.Field {
	field := f.field(page.Pick, "repair", "repair", page.Say(ctx, "What was done"), "")
	field.Choices = []page.Choice{{Value: "", Label: page.Say(ctx, "Choose")}}
	for _, x := range repairs {
		field.Choices = append(field.Choices, page.Choice{Value: x.ID, Label: sentence(x.Name, x.Cure)})
	}
	field.Choices = append(field.Choices, page.Choice{Value: "other", Label: page.Say(ctx, "Something else")})
	return field
}

// repairCautions returns the cautions of the chosen repair, or what holds for
// any work inside.
func repairCautions(ctx context.Context, repairs []visit.RepairLine, chosen string) []string {
	for _, x := range repairs {
		if x.ID == chosen && len(x.Cautions) > 0 {
			return append(x.Cautions[:len(x.Cautions):len(x.Cautions)], x.Held...)
		}
	}
	return []string{page.Say(ctx, "Disconnect pulled and proved dead, capacitors discharged and measured 0 V, before you reach in.")}
}

// outdoorUnit is the unit on which a part is changed most often.
func outdoorUnit(here visit.Here) string {
	for _, u := range here.System.Units {
		if u.Kind == "outdoor-unit" {
			return string(u.Unit)
		}
	}
	return ""
}

func (s *Server) unitChoices(ctx context.Context, here visit.Here) []visit.Choice {
	var list []visit.Choice
	for _, u := range here.System.Units {
		list = append(list, visit.Choice{ID: string(u.Unit), Name: visit.LanguageOf(ctx).Answer("unit-kind", u.Kind)})
	}
	return list
}

func (s *Server) recordRepair(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	in, err := s.repairInput(r, id)
	if err == nil {
		_, err = s.Visits.RecordRepair(r.Context(), by, id, in)
	}
	if err != nil {
		return s.again(w, r, err, s.showRepair)
	}
	return see(w, r, visitPath(id)+"/proof", url.Values{"done": {"repair"}})
}

// causeField carries the cause that leads for a repair, "cause-" + its id, as
// the mechanic saw it: once the repair is recorded another one leads, and the
// same form sent again would say something else.
const causeField = "cause-"

func (s *Server) leadingCauses(r *http.Request, id record.VisitID) []page.Hidden {
	if _, again := r.PostForm["form"]; again {
		return carried(r.PostForm)
	}
	advice, err := s.Visits.Advise(r.Context(), id)
	if err != nil {
		return nil // a repair can be recorded without advice
	}
	causes := url.Values{}
	for _, c := range advice.Standing {
		if name := causeField + c.RepairID; c.RepairID != "" && !causes.Has(name) {
			causes.Set(name, c.ID)
		}
	}
	return carried(causes)
}

// carried returns the causes of a form, in the order of their names.
func carried(typed url.Values) []page.Hidden {
	var list []page.Hidden
	for _, name := range slices.Sorted(maps.Keys(typed)) {
		if strings.HasPrefix(name, causeField) {
			list = append(list, page.Hidden{Name: name, Value: typed.Get(name)})
		}
	}
	return list
}

// repairInput reads the form. The part follows from the repair chosen.
func (s *Server) repairInput(r *http.Request, id record.VisitID) (visit.RepairInput, error) {
	typed := r.PostForm
	in := visit.RepairInput{Repair: typed.Get("repair"), Note: typed.Get("note"), Cause: typed.Get(causeField + typed.Get("repair"))}
	measured, wrong := parseMeasured(typed.Get("measured"))
	if wrong != "" {
		return in, &visit.Error{Kind: visit.Invalid, Fields: []visit.FieldError{{Field: "measured", Kind: visit.Invalid, Message: wrong}}}
	}
	part := visit.PartInput{Unit: record.UnitID(typed.Get("unit")), Out: typed.Get("out"), In: typed.Get("in"), Measured: measured, Why: typed.Get("why"), Kept: typed.Get("kept") == "yes"}
	if part.Out == "" && part.In == "" && len(measured) == 0 {
		return in, nil
	}
	repairs, err := s.Visits.Repairs(r.Context(), id)
	for _, x := range repairs {
		if x.ID == in.Repair {
			part.Part = x.Part
		}
	}
	in.Part = &part
	return in, err
}

// measurement is a name, a number and a unit: "HERM 0.4 µF".
var measurement = pattern(`^(.*?)[ :=]*([-+]?[0-9]+(?:\.[0-9]+)?)\s*(\S.*)$`)

// parseMeasured reads what was measured on an old part; wrong says what it
// could not read.
func parseMeasured(text string) (list []record.Measured, wrong string) {
	for _, part := range strings.FieldsFunc(text, func(c rune) bool { return c == ',' || c == ';' || c == '\n' }) {
		part = strings.TrimSpace(part)
		if part == "" {
			continue
		}
		m := measurement().FindStringSubmatch(part)
		if m == nil {
			return nil, "“" + part + "” is not a name, a number and a unit. Write it as HERM 0.4 µF."
		}
		list = append(list, record.Measured{What: strings.TrimSpace(m[1]), AsRead: record.AsRead{Text: m[2], Unit: strings.TrimSpace(m[3])}})
	}
	return list, ""
}
