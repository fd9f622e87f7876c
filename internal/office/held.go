package office

import (
	"crypto/sha256"
	"encoding/hex"
	"net/http"
	"strconv"
	"strings"

	"rung/internal/account"
	"rung/internal/exchange"
	"rung/internal/journal"
	"rung/internal/web/page"
)

// heldNote says in a few words how much is kept aside.
func heldNote(list []exchange.Doubted) string {
	n := 0
	for _, d := range list {
		if !d.Left {
			n++
		}
	}
	if n == 0 {
		return "entries that somebody brought who may not write them so: none"
	}
	return "to be decided: " + strconv.Itoa(n)
}

// heldGroup is what one device brought for one reason.
func heldGroup(d exchange.Doubted) string {
	h := sha256.Sum256([]byte(strings.Join([]string{d.Bringer, d.Person, d.Why, strconv.FormatBool(d.Left)}, "\n")))
	return hex.EncodeToString(h[:8])
}

// held shows what is kept aside, by who brought it and why.
func (s *Server) held(w http.ResponseWriter, r *http.Request) error {
	return s.showHeld(w, r, nil, http.StatusOK)
}

func (s *Server) showHeld(w http.ResponseWriter, r *http.Request, stayed []exchange.Flag, status int) error {
	p := page.HeldPage{Shell: s.shell(r, "Kept aside", page.Link{Text: "Office", Href: "/office"})}
	for _, f := range stayed {
		p.Wrong = append(p.Wrong, f.Text)
	}
	if s.Held == nil {
		return s.render(w, r, status, page.Held(p))
	}
	list, err := s.Held.List(r.Context())
	if err != nil {
		return err
	}
	labels, err := s.phoneLabels(r)
	if err != nil {
		return err
	}
	groups := map[string]*page.HeldGroup{}
	var order []string
	for _, d := range list {
		key := heldGroup(d)
		g := groups[key]
		if g == nil {
			g = &page.HeldGroup{Who: d.Person, On: labels[d.Bringer], Why: d.Why, Left: d.Left, Action: "/office/held", Hidden: []page.Hidden{{Name: "group", Value: key}}}
			if g.On == "" {
				g.On = "in a file"
			}
			groups[key] = g
			order = append(order, key)
		}
		at := d.Entry.Time.Wall().In(s.Zone)
		g.Entries = append(g.Entries, page.Fact{Name: strings.ReplaceAll(d.Entry.Kind, "-", " "),
			Value: at.Format("2 January 2006 15:04") + ", by " + d.Entry.Author + " on " + d.Entry.Device + ", brought " + d.At.In(s.Zone).Format("2 January 15:04")})
		g.Last = d.ID.String()
	}
	for _, key := range order {
		g := groups[key]
		g.Hidden = append(g.Hidden, page.Hidden{Name: "count", Value: strconv.Itoa(len(g.Entries))}, page.Hidden{Name: "last", Value: g.Last})
		p.Groups = append(p.Groups, *g)
	}
	passed, err := s.Held.Passed(r.Context())
	if err != nil {
		return err
	}
	for _, x := range passed {
		on := labels[x.Bringer]
		if on == "" {
			on = "in a file"
		}
		p.Passed = append(p.Passed, page.Fact{Name: x.Author + " on " + x.Device,
			Value: strconv.Itoa(len(x.Entries)) + " brought by " + x.Person + " " + on + " since " + s.day(x.At)})
	}
	return s.render(w, r, status, page.Held(p))
}

// phoneLabels names the phones by their names in the journal.
func (s *Server) phoneLabels(r *http.Request) (map[string]string, error) {
	phones, err := s.Book.Phones(r.Context())
	labels := map[string]string{}
	for _, p := range phones {
		labels[p.Device()] = "on the phone “" + p.Label + "”"
	}
	return labels, err
}

// decideHeld takes a group in, or leaves it out. What came in since the page was
// made is not decided with it.
func (s *Server) decideHeld(w http.ResponseWriter, r *http.Request) error {
	what := r.PostFormValue("do")
	if what != "take" && what != "leave" || s.Held == nil {
		return &account.InputError{Field: "do", Message: "Choose whether to take them in or leave them out."}
	}
	list, err := s.Held.List(r.Context())
	if err != nil {
		return err
	}
	var ids []journal.ID
	last := false
	for _, d := range list {
		if heldGroup(d) == r.PostFormValue("group") {
			ids = append(ids, d.ID)
			last = last || d.ID.String() == r.PostFormValue("last")
		}
	}
	if strconv.Itoa(len(ids)) != r.PostFormValue("count") || !last {
		return &account.InputError{Field: "group", Message: "Other entries were brought meanwhile, or these were decided. Look at the page again."}
	}
	by := who(r).account.Name
	if what == "leave" {
		if err := s.Held.Leave(r.Context(), by, ids); err != nil {
			return err
		}
		return see(w, r, "/office/held?done=left-out")
	}
	stayed, err := s.Held.Take(r.Context(), by, ids)
	if err != nil {
		return err
	}
	if stayed != nil {
		return s.showHeld(w, r, stayed, http.StatusConflict)
	}
	return see(w, r, "/office/held?done=taken-in")
}
