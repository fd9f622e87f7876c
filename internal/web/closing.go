package web

import (
	"net/http"
	"net/url"

	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

func (s *Server) closing(w http.ResponseWriter, r *http.Request) error {
	return s.showClosing(w, r, nil)
}

// showClosing asks how the visit ended, and says what the proof still lacks.
func (s *Server) showClosing(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	here, err := s.here(r)
	if err != nil {
		return err
	}
	proof, err := s.Visits.Proof(r.Context(), here.Visit.Visit)
	if err != nil {
		return err
	}
	f := fill(nil, r.PostForm, wrong)
	set := page.FieldSet{Fields: []page.Field{
		needed(f.choose("outcome", "How does it end?", "", s.Visits.Outcomes())),
		f.field(page.Story, "note", "note", "Note", "For whoever comes next. Needed if you close without full proof: say why."),
	}}
	if !proof.Complete {
		set.Fields = append(set.Fields, f.field(page.Tick, "anyway", "anyway", "Close without full proof", ""))
	}
	form := page.FormPage{
		Shell: s.shell(r, here, "Close this visit", "Proof"), Intro: proof.Verdict,
		Action: visitPath(here.Visit.Visit) + "/close", Submit: "Close visit", Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
		Cautions: []string{"Panels on, disconnect in, gas and electric switches on, filter in, thermostat back as the customer had it."},
		Sets:     []page.FieldSet{set}, Wrong: f.rest(),
	}
	form.Back = page.Link{Text: "Visit", Href: visitPath(here.Visit.Visit)}
	return s.render(w, r, formStatus(wrong), page.Form(form))
}

func (s *Server) close(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	err := s.Visits.Close(r.Context(), by, id, visit.CloseInput{
		Outcome: r.PostForm.Get("outcome"), Note: r.PostForm.Get("note"), Anyway: r.PostForm.Get("anyway") == "yes",
	})
	if err != nil {
		return s.again(w, r, err, s.showClosing)
	}
	return see(w, r, visitPath(id)+"/note", url.Values{"done": {"closed"}})
}

func (s *Server) later(w http.ResponseWriter, r *http.Request) error {
	return s.showLater(w, r, nil)
}

// showLater asks what stays to be done; below, what is recommended.
func (s *Server) showLater(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	here, err := s.here(r)
	if err != nil {
		return err
	}
	f := fill(map[string]string{"what": r.URL.Query().Get("what")}, r.PostForm, wrong) // offered, for instance by a forecast
	base := visitPath(here.Visit.Visit)
	form := page.FormPage{
		Shell:  s.shell(r, here, "Still to be done", "Proof"),
		Action: base + "/tasks", Submit: "Note it", Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
		Sets: []page.FieldSet{{Fields: []page.Field{
			needed(f.words("what", "What", "For instance: judge the charge of 2 upstairs.")),
			f.field(page.Date, "due", "due", "By", ""),
			f.amount("warmer", "warmer", "Not before it is this warm outside", "", quantity.DimTemperature, "°F"),
			f.words("who", "Who", ""),
		}}},
		Wrong: f.rest(),
	}
	form.Back = page.Link{Text: "Visit", Href: base}
	if r.URL.Query().Get("kind") == "recommendation" || r.PostForm.Has("answer") {
		form.Title, form.Action, form.Submit = "Recommendation", base+"/recommendations", "Record recommendation"
		form.Sets = []page.FieldSet{{Fields: []page.Field{
			needed(f.words("what", "What you recommend", "In words the customer understands.")),
			f.field(page.Date, "until", "until", "By", ""),
			f.choose("answer", "The customer", "", []visit.Choice{{ID: "accepted", Name: "Accepts"}, {ID: "declined", Name: "Declines"}, {ID: "later", Name: "Decides later"}}),
		}}}
	} else {
		form.Cancel = page.Link{Text: "Recommend", Href: base + "/later?kind=recommendation"}
	}
	return s.render(w, r, formStatus(wrong), page.Form(form))
}

func (s *Server) addTask(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	_, err := s.Visits.AddTask(r.Context(), by, id, visit.TaskInput{
		What: r.PostForm.Get("what"), Due: r.PostForm.Get("due"), Warmer: withUnit(r.PostForm, "warmer"), Who: r.PostForm.Get("who"),
	})
	if err != nil {
		return s.again(w, r, err, s.showLater)
	}
	return see(w, r, visitPath(id), url.Values{"done": {"task"}})
}

func (s *Server) recommend(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.VisitID(r.PathValue("visit"))
	err := s.Visits.Recommend(r.Context(), by, id, "", r.PostForm.Get("what"), r.PostForm.Get("until"), r.PostForm.Get("answer"))
	if err != nil {
		return s.again(w, r, err, s.showLater)
	}
	return see(w, r, visitPath(id), url.Values{"done": {"recommendation"}})
}
