package web

import (
	"fmt"
	"net/http"
	"net/url"
	"slices"
	"strings"

	"rung/internal/ledger"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

func chainPath(id record.PropertyID) string { return propertyPath(id) + "/chain" }

func linkPath(system record.SystemID, link string) string {
	return systemPath(system) + "/chain/" + link
}

// chain shows which thermostat, units, disconnect and breaker belong together,
// and the proof to make next.
func (s *Server) chain(w http.ResponseWriter, r *http.Request) error {
	sheet, err := s.Visits.Chain(r.Context(), record.PropertyID(r.PathValue("property")))
	if err != nil {
		return err
	}
	p := sheet.Property
	view := page.ChainPage{
		Shell: page.Shell{Title: "What serves what", Place: p.Name, Back: page.Link{Text: p.Name, Href: propertyPath(p.Property)}},
		Empty: "No system is entered yet. Add them first, each with its thermostat.", Doubts: sheet.Doubts,
		Main: page.Link{Text: "Add a system", Href: propertyPath(p.Property) + "/systems/new"},
	}
	s.justFound(r, sheet, &view.Shell)
	for _, x := range sheet.Swapped {
		view.Swapped = append(view.Swapped, page.Swapped{Pair: x.Pair, Says: x.Says, Means: x.Means, Mend: x.Mend})
	}
	for i, line := range sheet.Systems {
		if i == 0 {
			view.Heads = heads(line)
			view.Main = page.Link{Text: "Labels", Href: propertyPath(p.Property) + "/labels"}
		}
		view.Rows = append(view.Rows, s.chainRow(line))
	}
	if n := sheet.Next; n != nil {
		view.Next = &page.ChainNext{What: n.Link.Name + " of " + n.System.Title(), Time: "About " + minutes(n.Minutes) + ". " + minutes(sheet.Left) + " for all that is left.", Steps: pageSteps(n.Steps)}
		view.Main, view.Second = page.Link{Text: "Record what you found", Href: linkPath(n.System.System, n.Link.ID) + "?read=yes"}, view.Main
	} else if len(sheet.Systems) > 0 {
		view.Done = "Every link is proved."
	}
	return s.render(w, r, http.StatusOK, page.Chain(view))
}

// justFound says what was just recorded, with the way back; a page fetched
// again after the undo must not claim it.
func (s *Server) justFound(r *http.Request, sheet visit.ChainSheet, shell *page.Shell) {
	shell.Notice = notices[r.URL.Query().Get("done")]
	entry := record.EntryID(r.URL.Query().Get("entry"))
	if shell.Notice == "" || entry == "" {
		return
	}
	for _, line := range sheet.Systems {
		for _, l := range line.Links {
			if l.Entry == entry {
				shell.Notice = "Recorded: " + line.System.Title() + ", " + strings.ToLower(l.Link.Name) + " " + l.Place + "."
				shell.Undo = s.takeBack(sheet.Property, entry)
				return
			}
		}
	}
	if _, back := sheet.Property.Withdrawn(entry); back {
		shell.Notice = notices["withdrawn"]
	} else if _, there := sheet.Property.Holds(entry); there { // a label beside a test
		shell.Undo = s.takeBack(sheet.Property, entry)
	}
}

func (s *Server) takeBack(p *ledger.Property, entry record.EntryID) *page.Undo {
	return &page.Undo{Action: chainPath(p.Property) + "/withdraw", Hidden: []page.Hidden{{Name: "form", Value: s.Visits.NewForm()}, {Name: "entry", Value: string(entry)}}}
}

// heads are the names of the links, short enough for four columns on a phone.
func heads(line visit.ChainLine) []string {
	var list []string
	for _, l := range line.Links {
		name := strings.TrimSuffix(l.Link.Name, " unit")
		list = append(list, strings.Replace(name, "Disconnect", "Discon\u00adnect", 1))
	}
	return list
}

func (s *Server) chainRow(line visit.ChainLine) page.ChainRow {
	row := page.ChainRow{System: line.System.Title(), Thermostat: "thermostat: " + line.Thermostat}
	if line.Thermostat == "" {
		row.Thermostat = "no thermostat entered"
	}
	for _, l := range line.Links {
		cell := page.ChainCell{State: string(l.State), Place: l.Place, Href: linkPath(line.System.System, l.Link.ID)}
		cell.Says = strings.Join(present(l.Link.Name+" of "+line.System.Title(), orNone(l.Place), linkWord(l)), ": ")
		if l.Doubted {
			cell.State = "doubted"
		}
		row.Cells = append(row.Cells, cell)
	}
	return row
}

func orNone(place string) string {
	if place == "" {
		return "not known"
	}
	return place
}

// linkWord says how sure a link is.
func linkWord(l visit.ChainLink) string {
	word := map[visit.LinkState]string{visit.LinkProved: "proved", visit.LinkLabel: "by label only"}[l.State]
	switch {
	case l.Swapped:
		return word + ", swapped"
	case l.Doubted:
		return word + ", something disagrees"
	}
	return word
}

// link asks what was found at one link of a system.
func (s *Server) link(w http.ResponseWriter, r *http.Request) error { return s.showLink(w, r, nil) }

func (s *Server) showLink(w http.ResponseWriter, r *http.Request, wrong *visit.Error) error {
	system, link := record.SystemID(r.PathValue("system")), r.PathValue("link")
	sheet, x, step, err := s.Visits.LinkStep(r.Context(), system, link)
	if err != nil {
		return err
	}
	p := sheet.Property
	view := page.LinkPage{Time: "about " + minutes(step.Minutes), Steps: pageSteps(step.Steps), Read: r.URL.Query().Get("read") != "" || wrong != nil, Facts: s.linkFacts(x)}
	view.Shell = page.Shell{Title: x.Link.Name + " of " + step.System.Title(), Place: p.Name, Back: page.Link{Text: "What serves what", Href: chainPath(p.Property)}}
	if x.Entry != "" {
		view.TakeBack = s.takeBack(p, x.Entry)
	}
	f := fill(nil, r.PostForm, wrong)
	set := page.FieldSet{Heading: "What did you find?"}
	another := "Which one?"
	if places := visit.LinkPlaces(p, link); len(places) > 0 {
		set.Fields = append(set.Fields, choosePlace(f, places, s.Visits.LinkHint(link)))
		another = "Another: place or number"
	}
	hint := ""
	if len(set.Fields) == 0 {
		hint = s.Visits.LinkHint(link)
	}
	set.Fields = append(set.Fields,
		f.words("place", another, hint),
		f.choose("how", "How do you know?", "", s.Visits.LinkProofs(link)),
		f.words("by", "Found by", "If it was not you."),
		f.words("note", "Note", ""),
	)
	view.Action, view.Submit, view.Hidden = linkPath(system, link), "Record it", []page.Hidden{s.formID(r.PostForm, wrong)}
	view.Sets, view.Wrong = []page.FieldSet{set}, f.rest()
	return s.render(w, r, formStatus(wrong), page.LinkForm(view))
}

// choosePlace asks for one of the places known, or another that is typed.
func choosePlace(f *filling, places []visit.Choice, hint string) page.Field {
	field := f.choose("known", "Which one?", hint, places)
	if field.Kind == page.Pick {
		field.Choices[0].Label = "Another, typed below"
		return field
	}
	field.Choices = append(field.Choices, page.Choice{Value: "", Label: "Another, typed below"})
	return field
}

func (s *Server) linkFacts(x visit.ChainLink) []page.Fact {
	if x.State == visit.LinkUnknown {
		return []page.Fact{{Name: "So far", Value: "not known"}}
	}
	list := []page.Fact{{Name: "So far", Value: x.Place, Doubt: linkWord(x)}, {Name: "How", Value: x.How}, {Name: "When", Value: s.day(x.At) + ", " + x.By}}
	if x.Note != "" {
		list = append(list, page.Fact{Name: "Note", Value: x.Note})
	}
	if x.Label != "" {
		list = append(list, page.Fact{Name: "The label says", Value: x.Label})
	}
	return list
}

func (s *Server) recordLink(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	system, typed := record.SystemID(r.PathValue("system")), r.PostForm
	entry, err := s.Visits.RecordLink(r.Context(), by, system, visit.LinkInput{
		Link: r.PathValue("link"), Known: typed.Get("known"), Place: typed.Get("place"), How: typed.Get("how"), FoundBy: typed.Get("by"), Note: typed.Get("note"),
	})
	if err != nil {
		return s.again(w, r, err, s.showLink)
	}
	p, _, err := s.Visits.System(r.Context(), system)
	if err != nil {
		return err
	}
	return see(w, r, chainPath(p.Property), url.Values{"done": {"link"}, "entry": {string(entry)}})
}

func (s *Server) withdrawLink(w http.ResponseWriter, r *http.Request) error {
	by := s.by(r)
	id := record.PropertyID(r.PathValue("property"))
	if err := s.Visits.WithdrawLink(r.Context(), by, id, record.EntryID(r.PostForm.Get("entry")), "undone on the page"); err != nil {
		return err
	}
	return see(w, r, chainPath(id), url.Values{"done": {"withdrawn"}})
}

// chainOf says what is known of the chain of a system, and with which it is
// swapped.
func (s *Server) chainOf(r *http.Request, p *ledger.Property, id record.SystemID) (facts []page.Fact, swapped []string, err error) {
	sheet, err := s.Visits.Chain(r.Context(), p.Property)
	if err != nil {
		return nil, nil, err
	}
	for _, line := range sheet.Systems {
		for _, l := range line.Links {
			if line.System.System == id && l.State != visit.LinkUnknown && (l.Entry != "" || l.Doubted) {
				facts = append(facts, page.Fact{Name: l.Link.Name, Value: l.Place, Doubt: linkWord(l)})
			}
		}
	}
	for _, x := range sheet.Swapped {
		if slices.Contains(x.Systems, id) {
			swapped = append(swapped, x.Pair+". "+x.Says)
		}
	}
	return facts, swapped, nil
}

// chainList leads from a property to its chains, with how far they are proved.
func (s *Server) chainList(r *http.Request, id record.PropertyID) (page.LinkList, error) {
	sheet, err := s.Visits.Chain(r.Context(), id)
	if err != nil {
		return page.LinkList{}, err
	}
	proved, all := 0, 0
	for _, line := range sheet.Systems {
		for _, l := range line.Links {
			all++
			if l.State == visit.LinkProved {
				proved++
			}
		}
	}
	note := fmt.Sprintf("%d of %s proved", proved, count(all, "link", "links"))
	if n := len(sheet.Swapped); n > 0 {
		note += " · " + count(n, "pair swapped", "pairs swapped")
	}
	if n := len(sheet.Doubts); n > 0 {
		note += " · " + count(n, "disagreement", "disagreements")
	}
	return page.LinkList{Heading: "What serves what", Links: []page.Link{{Text: "Thermostat to breaker", Href: chainPath(id), Note: note}}}, nil
}
