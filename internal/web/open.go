package web

import (
	"context"
	"net/http"
	"net/url"
	"slices"

	"rung/internal/ledger"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// chooseSystem asks which system the visit is for, if there are several.
func (s *Server) chooseSystem(w http.ResponseWriter, r *http.Request) error {
	p, err := s.Visits.Property(r.Context(), record.PropertyID(r.PathValue("property")))
	if err != nil {
		return err
	}
	if len(p.Systems) == 1 {
		return see(w, r, systemPath(p.Systems[0].System)+"/open", nil)
	}
	list := page.LinkList{Heading: "Which system?", Empty: "This property has no system yet.", Add: page.Link{Text: "Add a system", Href: propertyPath(p.Property) + "/systems/new"}}
	for _, x := range p.Systems {
		list.Links = append(list.Links, page.Link{Text: x.Title(), Href: systemPath(x.System) + "/open", Note: x.Areas})
	}
	view := page.PlacePage{
		Shell: page.Shell{Title: "Open a visit", Place: p.Name, Back: page.Link{Text: p.Name, Href: propertyPath(p.Property)}},
		Lists: []page.LinkList{list},
	}
	return s.render(w, r, http.StatusOK, page.Place(view))
}

func (s *Server) newVisit(w http.ResponseWriter, r *http.Request) error {
	return s.showOpenForm(w, r, nil)
}

// showOpenForm asks for the complaint and who works.
func (s *Server) showOpenForm(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	p, x, err := s.Visits.System(r.Context(), record.SystemID(r.PathValue("system")))
	if err != nil {
		return err
	}
	people, err := s.people(r)
	if err != nil {
		return err
	}
	f := fill(map[string]string{"who": s.Author(r), "role": "mechanic"}, r.PostForm, wrong)
	form := page.FormPage{
		Shell:    page.Shell{Title: "Open a visit", Place: p.Name + " · " + x.Title(), Back: page.Link{Text: x.Title(), Href: systemPath(x.System)}},
		Cautions: []string{"Gas smell, smoke or a CO alarm: everybody out, call for help from outside. Do not start a visit."},
		Action:   systemPath(x.System) + "/visits", Submit: "Open visit", Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
		Sets: []page.FieldSet{
			{Fields: []page.Field{
				f.field(page.Story, "words", "words", "What the customer says", "In their own words."),
				needed(f.choose("complaint", "What comes nearest?", "", s.Visits.Complaints(x.Kind))),
			}},
			{Heading: "Who works", Fields: whoWorks(f, people)},
		},
	}
	form.Wrong = f.rest()
	return s.render(w, r, formStatus(wrong), page.Form(form))
}

// whoWorks asks who works at the unit: one of the people of the shop, whose role
// and licences are known, or a name with both typed in.
func whoWorks(f *filling, people []record.Person) []page.Field {
	const underHint = "Of an apprentice: who stands beside."
	if len(people) > 0 {
		var all, masters []visit.Choice
		for _, p := range people {
			all = append(all, visit.Choice{ID: p.Name, Name: p.Name})
			if p.Role != "apprentice" {
				masters = append(masters, visit.Choice{ID: p.Name, Name: p.Name})
			}
		}
		masters = append(masters, visit.Choice{ID: "", Name: "Nobody"})
		return []page.Field{needed(f.choose("who", "Name", "", all)), f.choose("supervisor", "Under the eye of", underHint, masters)}
	}
	return []page.Field{
		needed(f.words("who", "Name", "")),
		f.choose("role", "As", "", []visit.Choice{{ID: "mechanic", Name: "Mechanic"}, {ID: "apprentice", Name: "Apprentice"}}),
		f.words("supervisor", "Under the eye of", underHint),
		f.field(page.Tick, "refrigerant", "refrigerant", "Certified for refrigerant", ""),
		f.field(page.Tick, "gas", "gas", "Licensed for gas", ""),
		f.field(page.Tick, "electrician", "electrician", "Licensed electrician", ""),
	}
}

// people lists who may work at a unit; nobody where that is not known.
func (s *Server) people(r *http.Request) ([]record.Person, error) {
	if s.People == nil {
		return nil, nil
	}
	all, err := s.People(r.Context())
	return slices.DeleteFunc(all, func(p record.Person) bool { return p.Role == "" }), err
}

// worker is who works at the unit as the form says: where the people are known
// only the name is taken from it.
func (s *Server) worker(r *http.Request) (record.Person, error) {
	yes := func(name string) bool { return r.PostForm.Get(name) == "yes" }
	typed := record.Person{Name: r.PostForm.Get("who"), Role: r.PostForm.Get("role"), Refrigerant: yes("refrigerant"), Gas: yes("gas"), Electrician: yes("electrician")}
	people, err := s.people(r)
	if err != nil || len(people) == 0 {
		return typed, err
	}
	for _, p := range people {
		if p.Name == typed.Name {
			return p, nil
		}
	}
	return typed, &visit.Error{Kind: visit.Invalid, Fields: []visit.FieldError{{Field: "who", Kind: visit.Invalid, Message: "Choose who works at the unit."}}}
}

func (s *Server) openVisit(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	who, err := s.worker(r)
	if err != nil {
		return s.again(w, r, err, s.showOpenForm)
	}
	id, err := s.Visits.OpenVisit(r.Context(), by, record.SystemID(r.PathValue("system")), visit.OpenInput{
		Words: r.PostForm.Get("words"), Complaint: r.PostForm.Get("complaint"), Supervisor: r.PostForm.Get("supervisor"), Who: who,
	})
	if err != nil {
		return s.again(w, r, err, s.showOpenForm)
	}
	return see(w, r, visitPath(id)+"/surroundings", url.Values{"done": {"visit"}})
}

func (s *Server) surroundings(w http.ResponseWriter, r *http.Request) error {
	return s.showSurroundings(w, r, nil)
}

// showSurroundings asks for the conditions, on which every prediction hangs.
func (s *Server) showSurroundings(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	r = s.inLanguage(r)
	ctx := r.Context()
	l := visit.LanguageOf(ctx)
	here, err := s.here(r)
	if err != nil {
		return err
	}
	known := map[string]string{}
	for name, v := range here.Visit.Surroundings {
		known[name], known[name+"-unit"] = v.Text, v.Unit
	}
	f := fill(known, r.PostForm, wrong)
	set := page.FieldSet{}
	for _, x := range s.Visits.Surroundings() {
		field := f.amount(x.ID, x.ID, l.Surrounding(x.ID), l.SurroundingWhere(x.ID), x.Dim, x.Unit)
		field.Assumed = x.Assumed
		set.Fields = append(set.Fields, field)
	}
	form := page.FormPage{
		Shell:    s.shell(r, here, page.Say(ctx, "Surroundings"), ""),
		Intro:    page.Say(ctx, "Measured now, here. Every prediction hangs on them. What you leave empty is assumed."),
		Cautions: []string{page.Say(ctx, "Fuel burned in this house? Read the CO in the air you breathe before you go on. At 100 ppm everybody leaves.")},
		Action:   visitPath(here.Visit.Visit) + "/surroundings", Submit: page.Say(ctx, "Save surroundings"), Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
		Sets: []page.FieldSet{set}, Wrong: f.rest(),
		After: s.hazardForms(ctx, here.Visit),
	}
	form.Back = page.Link{Text: page.Say(ctx, "Visit"), Href: visitPath(here.Visit.Visit)}
	return s.render(w, r, formStatus(wrong), page.Form(form))
}

// hazardForms offers to note each hazard, or that it is over.
func (s *Server) hazardForms(ctx context.Context, v *ledger.Visit) *page.Taps {
	taps := &page.Taps{Heading: page.Say(ctx, "A danger found here"), Intro: page.Say(ctx, "Tap what is there. Work that it bars is then not proposed."), Action: visitPath(v.Visit) + "/hazards", Name: "hazard",
		Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}}}
	for _, h := range visit.LanguageOf(ctx).Answers("hazard") {
		c := page.Choice{Value: h.ID, Label: h.Name}
		if slices.Contains(v.Hazards, h.ID) {
			c = page.Choice{Value: "over " + h.ID, Label: h.Name + " " + page.Say(ctx, "is over")}
		}
		taps.Choices = append(taps.Choices, c)
	}
	return taps
}

func (s *Server) recordSurroundings(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	in := visit.SurroundingsInput{Values: map[string]string{}}
	for _, x := range s.Visits.Surroundings() {
		if text := withUnit(r.PostForm, x.ID); text != "" {
			in.Values[x.ID] = text
		}
	}
	if err := s.Visits.RecordSurroundings(s.inLanguage(r).Context(), by, id, in); err != nil {
		return s.again(w, r, err, s.showSurroundings)
	}
	return see(w, r, visitPath(id), url.Values{"done": {"surroundings"}})
}

func (s *Server) noteHazard(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	hazard, over := trimmed(r.PostForm.Get("hazard"), "over ")
	if err := s.Visits.NoteHazard(r.Context(), by, id, hazard, over); err != nil {
		return err
	}
	done := "hazard"
	if over {
		done = "hazard-over"
	}
	return see(w, r, visitPath(id), url.Values{"done": {done}})
}
