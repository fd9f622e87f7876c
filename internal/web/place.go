package web

import (
	"fmt"
	"net/http"
	"net/url"
	"strings"

	"rung/internal/ledger"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// start shows the open visits, what is due, and the properties.
func (s *Server) start(w http.ResponseWriter, r *http.Request) error {
	find := strings.TrimSpace(r.URL.Query().Get("find"))
	open, err := s.Visits.OpenVisits(r.Context())
	if err != nil {
		return err
	}
	properties, err := s.Visits.Properties(r.Context(), find)
	if err != nil {
		return err
	}
	tasks, err := s.Visits.Tasks(r.Context())
	if err != nil {
		return err
	}
	p := page.StartPage{Shell: page.Shell{Title: "Where to?"}, Find: find, NewHref: "/properties/new"}
	if _, _, err := s.office(); err == nil {
		p.Elsewhere = append(p.Elsewhere, page.Link{Text: "Find a property at the office", Href: "/hand-over/find?find=" + url.QueryEscape(find), Note: "one that is not on this phone; needs signal"})
	}
	if s.HandOver != nil {
		p.Elsewhere = append(p.Elsewhere, page.Link{Text: "Hand over", Href: "/hand-over", Note: "to the office or another phone, also without signal"})
	}
	if s.Office != "" {
		p.Aside = page.Link{Text: "Office", Href: s.Office}
	}
	for _, v := range open {
		p.Visits = append(p.Visits, page.Link{Text: v.Place + " · " + v.Name, Href: visitPath(v.Visit), Note: sentence(quoted(v.Words), "opened "+s.day(v.Opened)+" "+s.clock(v.Opened))})
	}
	for _, t := range tasks {
		p.Tasks = append(p.Tasks, page.Link{Text: t.What, Href: propertyPath(t.Property), Note: sentence(t.Place, taskWhen(t.TaskAdded))})
	}
	for _, x := range properties {
		note := count(x.Systems, "system", "systems")
		if x.LastVisit != nil {
			note += " · last visit " + s.day(*x.LastVisit)
		}
		p.Properties = append(p.Properties, page.Link{Text: x.Name, Href: propertyPath(x.Property), Note: sentence(x.Address, note)})
	}
	return s.render(w, r, http.StatusOK, page.Start(p))
}

func taskWhen(t record.TaskAdded) string {
	when := ""
	if t.Due != "" {
		when = "due " + t.Due
	}
	if t.Warmer != nil {
		when = strings.TrimSpace(when + " when it is at least " + t.Warmer.Text + " " + t.Warmer.Unit + " outside")
	}
	return when
}

// property shows a house: its systems, its visits, what is still to be done.
func (s *Server) property(w http.ResponseWriter, r *http.Request) error {
	p, err := s.Visits.Property(r.Context(), record.PropertyID(r.PathValue("property")))
	if err != nil {
		return err
	}
	systems := page.LinkList{Heading: "Systems", Empty: "None yet. Add the first one.", Add: page.Link{Text: "Add a system", Href: propertyPath(p.Property) + "/systems/new"}}
	for _, x := range p.Systems {
		systems.Links = append(systems.Links, page.Link{Text: x.Title(), Href: systemPath(x.System), Note: sentence(x.Areas, s.openNote(p, x))})
	}
	view := page.PlacePage{
		Shell: page.Shell{Title: p.Name, Back: page.Link{Text: "Start", Href: "/"}, Notice: notices[r.URL.Query().Get("done")]},
		Facts: []page.Fact{},
		Lists: []page.LinkList{systems},
	}
	if len(p.Systems) > 0 {
		chain, err := s.chainList(r, p.Property)
		if err != nil {
			return err
		}
		view.Lists = append(view.Lists, chain)
	}
	view.Lists = append(view.Lists, s.visitList(p, p.Visits))
	if view.Photos, err = s.housePhotos(r, p); err != nil {
		return err
	}
	if s.HandOver != nil {
		view.Lists = append(view.Lists, page.LinkList{Heading: "To another phone", Links: []page.Link{
			{Text: "Save this house as a file", Href: propertyPath(p.Property) + "/entries", Note: sentence("everything recorded here, to be taken in elsewhere", s.photosNote(p))},
			{Text: "Show this house as codes", Href: "/hand-over/codes?property=" + url.QueryEscape(string(p.Property)), Note: "if it is not too much"}}})
	}
	for _, f := range []page.Fact{{Name: "Address", Value: p.Address}, {Name: "Contact", Value: p.Contact}, {Name: "Access", Value: p.Access}, {Name: "Elevation", Value: asRead(p.Elevation)}} {
		if f.Value != "" {
			view.Facts = append(view.Facts, f)
		}
	}
	for _, t := range p.OpenTasks() {
		view.Tasks = append(view.Tasks, page.Task{What: t.What, When: taskWhen(t.TaskAdded), Done: page.Undo{
			Action: propertyPath(p.Property) + "/tasks", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}, {Name: "task", Value: string(t.Task)}},
		}})
	}
	if len(p.Systems) > 0 {
		view.Main = page.Link{Text: "Open a visit", Href: propertyPath(p.Property) + "/open"}
	} else {
		view.Main = systems.Add
	}
	view.Second = page.Link{Text: "Edit", Href: propertyPath(p.Property) + "/edit"}
	return s.render(w, r, http.StatusOK, page.Place(view))
}

// finishTask records that something was done.
func (s *Server) finishTask(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	if err := s.Visits.FinishTask(r.Context(), by, record.TaskID(r.PostForm.Get("task")), "", false); err != nil {
		return err
	}
	return see(w, r, propertyPath(record.PropertyID(r.PathValue("property"))), url.Values{"done": {"task-done"}})
}

// openNote says if a visit to the system is open.
func (s *Server) openNote(p *ledger.Property, x *ledger.System) string {
	for _, v := range p.VisitsTo(x.System) {
		if v.Closed == nil {
			return "open visit since " + s.day(v.Opened.At)
		}
	}
	return count(len(x.Units), "unit", "units")
}

// visitList lists visits, the latest first.
func (s *Server) visitList(p *ledger.Property, visits []*ledger.Visit) page.LinkList {
	list := page.LinkList{Heading: "Visits", Empty: "No visit yet."}
	for i := len(visits) - 1; i >= 0; i-- {
		v := visits[i]
		what := "open"
		if v.Closed != nil {
			what = named(s.Visits.Outcomes(), v.Closed.Outcome)
		}
		text := s.day(v.Opened.At)
		if x, ok := p.System(v.System); ok {
			text += " · " + x.Title()
		}
		list.Links = append(list.Links, page.Link{Text: text, Href: visitPath(v.Visit), Note: sentence(quoted(v.Words), what)})
	}
	return list
}

// system shows a system: its units and the visits to it.
func (s *Server) system(w http.ResponseWriter, r *http.Request) error {
	p, x, err := s.Visits.System(r.Context(), record.SystemID(r.PathValue("system")))
	if err != nil {
		return err
	}
	units := page.LinkList{Heading: "Units", Empty: "None yet. Add the outdoor unit first: its nameplate says most.", Add: page.Link{Text: "Add a unit", Href: systemPath(x.System) + "/units/new"}}
	for _, u := range x.Units {
		units.Links = append(units.Links, page.Link{Text: s.unitName(u), Href: unitPath(u.Unit), Note: sentence(u.Place, count(len(u.Plate), "value read from the nameplate", "values read from the nameplate"))})
	}
	visits := p.VisitsTo(x.System)
	oldest := make([]*ledger.Visit, len(visits))
	for i, v := range visits {
		oldest[len(visits)-1-i] = v
	}
	view := page.PlacePage{
		Shell: page.Shell{Title: x.Title(), Place: p.Name, Back: page.Link{Text: p.Name, Href: propertyPath(p.Property)}, Notice: notices[r.URL.Query().Get("done")]},
		Facts: []page.Fact{{Name: "Kind", Value: strings.ReplaceAll(x.Kind, "-", " ")}},
		Lists: []page.LinkList{units, s.visitList(p, oldest)},
		Main:  page.Link{Text: "Open a visit", Href: systemPath(x.System) + "/open"}, Second: page.Link{Text: "What serves what", Href: chainPath(p.Property)},
	}
	if x.Areas != "" {
		view.Facts = append(view.Facts, page.Fact{Name: "Serves", Value: x.Areas})
	}
	if x.Proven != "" {
		view.Facts = append(view.Facts, page.Fact{Name: "Belongs together", Value: x.Proven})
	}
	chain, swapped, err := s.chainOf(r, p, x.System)
	if err != nil {
		return err
	}
	view.Facts, view.Hazards = append(view.Facts, chain...), swapped
	for _, v := range visits {
		if v.Closed == nil {
			view.Main = page.Link{Text: "Go on with the open visit", Href: visitPath(v.Visit)}
			break
		}
	}
	return s.render(w, r, http.StatusOK, page.Place(view))
}

func (s *Server) unitName(u *ledger.Unit) string { return named(s.Visits.UnitKinds(), u.Kind) }

// named returns the wording of an id from a closed list, or the id itself.
func named(list []visit.Choice, id string) string {
	for _, c := range list {
		if c.ID == id {
			return c.Name
		}
	}
	return id
}

func propertyPath(id record.PropertyID) string { return "/properties/" + string(id) }
func systemPath(id record.SystemID) string     { return "/systems/" + string(id) }
func unitPath(id record.UnitID) string         { return "/units/" + string(id) }
func visitPath(id record.VisitID) string       { return "/visits/" + string(id) }

func asRead(v *record.AsRead) string {
	if v == nil {
		return ""
	}
	return strings.TrimSpace(v.Text + " " + v.Unit)
}

// sentence joins what there is with a dot between.
func sentence(parts ...string) string {
	var kept []string
	for _, p := range parts {
		if p != "" {
			kept = append(kept, p)
		}
	}
	return strings.Join(kept, " · ")
}

func quoted(s string) string {
	if s == "" {
		return ""
	}
	return "“" + s + "”"
}

func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return fmt.Sprintf("%d %s", n, many)
}

// notices are the words for what was just done, named in the address so that
// no cookie is needed.
var notices = map[string]string{
	"property":        "Property saved.",
	"learning-aside":  "Calls count from today on.",
	"learning-shared": "The phones get these counts when they next exchange.",
	"learning-again":  "The earlier calls count again.",
	"system":          "System saved.",
	"unit":            "Unit added. Type in its nameplate next.",
	"nameplate":       "Nameplate saved.",
	"visit":           "Visit opened.",
	"surroundings":    "Surroundings saved.",
	"hazard":          "Hazard noted.",
	"hazard-over":     "Noted that the hazard is over.",
	"reading":         "Recorded.",
	"refusal":         "Noted: could not do it.",
	"withdrawn":       "Taken back.",
	"link":            "Recorded.",
	"settled":         "Settled.",
	"exchanged":       "Exchanged with the office.",
	"brought":         "Brought from the office.",
	"repair":          "Repair recorded. Now prove it.",
	"proof":           "Proof recorded.",
	"task-done":       "Done and off the list.",
	"task":            "Noted as still to be done.",
	"recommendation":  "Recommendation recorded.",
	"closed":          "Visit closed.",
	"shared":          "Link made. Whoever has it can read the report.",
	"unshared":        "Link withdrawn. It leads nowhere from now on.",
	"photo":           "Photo kept.",
	"photo-marked":    "Noted.",
	"photo-back":      "Photo taken back.",
}
