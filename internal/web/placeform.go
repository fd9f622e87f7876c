package web

import (
	"net/http"
	"net/url"

	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

func (s *Server) newProperty(w http.ResponseWriter, r *http.Request) error {
	return s.showPropertyForm(w, r, nil)
}

// showPropertyForm asks for a new property, or for other details of one.
func (s *Server) showPropertyForm(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	form := page.FormPage{
		Shell:  page.Shell{Title: "New property", Back: page.Link{Text: "Start", Href: "/"}},
		Action: "/properties", Submit: "Save property", Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
	}
	known := map[string]string{}
	if id := record.PropertyID(r.PathValue("property")); id != "" {
		p, err := s.Visits.Property(r.Context(), id)
		if err != nil {
			return err
		}
		known = map[string]string{"name": p.Name, "address": p.Address, "contact": p.Contact, "access": p.Access}
		if p.Elevation != nil {
			known["elevation"], known["elevation-unit"] = p.Elevation.Text, p.Elevation.Unit
		}
		form.Title, form.Action, form.Back = "Edit property", propertyPath(id)+"/edit", page.Link{Text: p.Name, Href: propertyPath(id)}
	}
	f := fill(known, r.PostForm, wrong)
	form.Sets = []page.FieldSet{{Fields: []page.Field{
		needed(f.words("name", "Name", "How you call it: street and number, or a name.")),
		f.words("address", "Address", ""),
		f.words("contact", "Contact", "Whom to call, and how."),
		f.words("access", "Access and dangers", "Gate, key, dog, bad ladder spot, where the disconnect is."),
		f.amount("elevation", "elevation", "Elevation", "Gauges and air depend on it.", quantity.DimLength, "ft"),
	}}}
	form.Wrong = f.rest()
	return s.render(w, r, formStatus(wrong), page.Form(form))
}

func needed(f page.Field) page.Field {
	f.Needed = true
	return f
}

func propertyInput(typed url.Values) visit.PropertyInput {
	return visit.PropertyInput{
		Name: typed.Get("name"), Address: typed.Get("address"), Contact: typed.Get("contact"), Access: typed.Get("access"),
		Elevation: withUnit(typed, "elevation"),
	}
}

func (s *Server) addProperty(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	in := propertyInput(r.PostForm)
	in.Replaces = record.PropertyID(r.PathValue("property"))
	id, err := s.Visits.AddProperty(r.Context(), by, in)
	if err != nil {
		return s.again(w, r, err, s.showPropertyForm)
	}
	return see(w, r, propertyPath(id), url.Values{"done": {"property"}})
}

func (s *Server) newSystem(w http.ResponseWriter, r *http.Request) error {
	return s.showSystemForm(w, r, nil)
}

func (s *Server) showSystemForm(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	p, err := s.Visits.Property(r.Context(), record.PropertyID(r.PathValue("property")))
	if err != nil {
		return err
	}
	f := fill(map[string]string{"kind": visit.SplitAirConditioner}, r.PostForm, wrong)
	form := page.FormPage{
		Shell:  page.Shell{Title: "Add a system", Place: p.Name, Back: page.Link{Text: p.Name, Href: propertyPath(p.Property)}},
		Intro:  "One system is what one thermostat, or one boiler, brings to work: its units belong together.",
		Action: propertyPath(p.Property) + "/systems", Submit: "Save system", Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
		Sets: []page.FieldSet{{Fields: []page.Field{
			f.choose("kind", "Kind", "What comes nearest. Wiring and sequence differ by maker: the diagram on the panel wins.", s.Visits.SystemKinds()),
			f.words("number", "Number", "As on the labels of thermostat, units and breaker."),
			f.words("name", "Name", "For instance: upstairs."),
			f.words("areas", "Serves", "Which rooms."),
			f.words("proven", "How do you know these units belong together?", "For instance: called the thermostat, outdoor unit 2 came on. Leave empty if it is only from the label."),
		}}},
	}
	form.Wrong = f.rest()
	return s.render(w, r, formStatus(wrong), page.Form(form))
}

// formStatus is the status of a form shown for the first time or again.
func formStatus(wrong *visit.Error) int {
	if wrong == nil {
		return http.StatusOK
	}
	return status(wrong)
}

func (s *Server) addSystem(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id, err := s.Visits.AddSystem(r.Context(), by, record.PropertyID(r.PathValue("property")), visit.SystemInput{
		Kind: r.PostForm.Get("kind"), Number: r.PostForm.Get("number"), Name: r.PostForm.Get("name"), Areas: r.PostForm.Get("areas"), Proven: r.PostForm.Get("proven"),
	})
	if err != nil {
		return s.again(w, r, err, s.showSystemForm)
	}
	return see(w, r, systemPath(id), url.Values{"done": {"system"}})
}

func (s *Server) newUnit(w http.ResponseWriter, r *http.Request) error {
	return s.showUnitForm(w, r, nil)
}

func (s *Server) showUnitForm(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	p, x, err := s.Visits.System(r.Context(), record.SystemID(r.PathValue("system")))
	if err != nil {
		return err
	}
	f := fill(nil, r.PostForm, wrong)
	form := page.FormPage{
		Shell:  page.Shell{Title: "Add a unit", Place: p.Name + " · " + x.Title(), Back: page.Link{Text: x.Title(), Href: systemPath(x.System)}},
		Action: systemPath(x.System) + "/units", Submit: "Save unit", Hidden: []page.Hidden{s.formID(r.PostForm, wrong)},
		Sets: []page.FieldSet{{Fields: []page.Field{
			f.choose("kind", "What is it?", "", s.Visits.UnitKinds()),
			f.words("place", "Where does it stand?", "For instance: north side, by the gate."),
			f.words("label", "Label", "What is written on it."),
		}}},
	}
	form.Wrong = f.rest()
	return s.render(w, r, formStatus(wrong), page.Form(form))
}

func (s *Server) addUnit(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id, err := s.Visits.AddUnit(r.Context(), by, record.SystemID(r.PathValue("system")), visit.UnitInput{
		Kind: r.PostForm.Get("kind"), Place: r.PostForm.Get("place"), Label: r.PostForm.Get("label"),
	})
	if err != nil {
		return s.again(w, r, err, s.showUnitForm)
	}
	return see(w, r, unitPath(id)+"/nameplate", url.Values{"done": {"unit"}})
}

// again shows a form once more with what was typed, if its mistake can be
// mended there.
func (s *Server) again(w http.ResponseWriter, r *http.Request, err error, show func(http.ResponseWriter, *http.Request, *visit.Error) error) error {
	if e, ok := mendable(err); ok {
		return show(w, r, e)
	}
	return err
}
