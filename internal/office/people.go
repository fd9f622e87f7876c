package office

import (
	"errors"
	"net/http"
	"net/url"

	"rung/internal/account"
	"rung/internal/role"
	"rung/internal/web/page"
)

// notices say what was just done.
var notices = map[string]string{
	"password": "Password changed.", "added": "Person added.", "changed": "Changed.", "closed": "The account is closed.", "opened": "The account is open again.",
	"revoked": "Revoked. That phone receives nothing more.", "taken-in": "Taken in.", "left-out": "Left out. They stay kept aside, and can be taken in later.",
}

// roleNames words the roles.
var roleNames = map[account.Role]string{account.Owner: "owner", account.Mechanic: "mechanic", account.Apprentice: "apprentice", account.Office: "office"}

func (s *Server) shell(r *http.Request, title string, back page.Link) page.Shell {
	return page.Shell{Title: title, Back: back, Notice: notices[r.URL.Query().Get("done")]}
}

// office is the way to everything of the shop.
func (s *Server) office(w http.ResponseWriter, r *http.Request) error {
	id := who(r)
	p := page.OfficePage{Shell: s.shell(r, "Office", page.Link{Text: "Start", Href: "/"})}
	list := page.LinkList{Heading: "The shop"}
	offer := func(pattern, href, text, note string) {
		if id.passes(role.Rules[pattern]) {
			list.Links = append(list.Links, page.Link{Text: text, Href: href, Note: note})
		}
	}
	offer("GET /office/people", "/office/people", "People", "who may sign in, and do what")
	offer("GET /office/phones", "/office/phones", "Phones", "enrol one, revoke one that is lost")
	if s.Held != nil && id.passes(role.Rules["GET /office/held"]) && !id.alone {
		held, err := s.Held.List(r.Context())
		if err != nil {
			return err
		}
		offer("GET /office/held", "/office/held", "Kept aside", heldNote(held))
	}
	if s.Root != nil {
		offer("GET /trust", "/trust", "Trust this server", "the root certificate for phones")
	}
	if id.alone {
		list.Links = list.Links[:1] // the first person comes before all else
		list.Heading = "One person works here, without signing in"
	} else {
		p.Who = id.account.Name + ", " + roleNames[id.account.Role]
		offer("GET /office/password", "/office/password", "Change password", "")
	}
	if id.session != "" {
		p.SignOut = &page.Undo{Action: "/sign-out"}
	}
	p.Lists = []page.LinkList{list}
	return s.render(w, r, http.StatusOK, page.Office(p))
}

var toPeople = page.Link{Text: "People", Href: "/office/people"}

func personPath(a account.Account) string { return "/office/people/" + url.PathEscape(a.Key) }

func (s *Server) people(w http.ResponseWriter, r *http.Request) error {
	all, err := s.Book.List(r.Context())
	if err != nil {
		return err
	}
	list := page.LinkList{Heading: "Who can sign in", Empty: "Nobody yet. The first one is an owner; from then on everybody signs in.", Add: page.Link{Text: "Add a person", Href: "/office/people/new"}}
	for _, a := range all {
		note := roleNames[a.Role]
		if a.Disabled {
			note += " · closed"
		}
		list.Links = append(list.Links, page.Link{Text: a.Name, Href: personPath(a), Note: note})
	}
	return s.render(w, r, http.StatusOK, page.Place(page.PlacePage{Shell: s.shell(r, "People", page.Link{Text: "Office", Href: "/office"}), Lists: []page.LinkList{list}}))
}

// standingFields asks for role and licences.
func (f *secretForm) standingFields(s account.Standing) {
	role := page.Field{Name: "role", Label: "Role", Kind: page.Choose, Value: string(s.Role), Needed: true,
		Hint: "An owner does everything; a mechanic and an apprentice work at the unit; the office plans, and looks after papers and phones."}
	for _, r := range account.Roles() {
		role.Choices = append(role.Choices, page.Choice{Value: string(r), Label: roleNames[r]})
	}
	f.field(role)
	tick := func(name, label string, on bool) {
		x := page.Field{Name: name, Label: label, Kind: page.Tick}
		if on {
			x.Value = "yes"
		}
		f.field(x)
	}
	tick("refrigerant", "Certified for refrigerant", s.Refrigerant)
	f.field(page.Field{Name: "certificate", Label: "Number of the certificate", Value: s.Certificate})
	tick("gas", "Licensed for gas", s.Gas)
	tick("electrician", "Licensed electrician", s.Electrician)
}

// standing reads role and licences from a form.
func standing(r *http.Request) account.Standing {
	yes := func(name string) bool { return r.PostFormValue(name) == "yes" }
	return account.Standing{Role: account.Role(r.PostFormValue("role")), Refrigerant: yes("refrigerant"), Gas: yes("gas"), Electrician: yes("electrician"), Certificate: r.PostFormValue("certificate")}
}

func (s *Server) newPerson(w http.ResponseWriter, r *http.Request) error {
	return s.showNewPerson(w, r, nil, http.StatusOK)
}

func (s *Server) showNewPerson(w http.ResponseWriter, r *http.Request, wrong error, status int) error {
	f := newSecretForm("Add a person", "/office/people", "Add", wrong)
	f.Back = toPeople
	at := standing(r)
	if who(r).alone {
		f.Intro = "The first account is an owner's. As soon as it is there, everybody signs in here."
		at.Role = account.Owner
	}
	f.field(page.Field{Name: "name", Label: "Name", Value: r.PostFormValue("name"), Needed: true, Hint: "Stands beside every entry, and cannot be changed."})
	f.standingFields(at)
	f.field(newPasswordField())
	return s.show(w, r, f, status)
}

func (s *Server) addPerson(w http.ResponseWriter, r *http.Request) error {
	id := who(r)
	if !mayTakeSecrets(r) {
		return s.showNewPerson(w, r, formError(plainHTTP), http.StatusForbidden)
	}
	a, err := s.Book.Add(r.Context(), id.account.Name, r.PostFormValue("name"), standing(r), r.PostFormValue("password"))
	var input *account.InputError
	switch {
	case errors.As(err, &input):
		return s.showNewPerson(w, r, err, http.StatusUnprocessableEntity)
	case errors.Is(err, account.ErrTaken):
		return s.showNewPerson(w, r, &account.InputError{Field: "name", Message: sentence(err)}, http.StatusConflict)
	case err != nil:
		return err
	}
	if id.alone { // who made the first account is in it
		if err := s.begin(w, r, a); err != nil {
			return err
		}
	}
	return see(w, r, "/office/people?done=added")
}

func (s *Server) person(w http.ResponseWriter, r *http.Request) error {
	a, err := s.Book.Account(r.Context(), r.PathValue("person"))
	if err != nil {
		return err
	}
	f := newSecretForm(a.Name, personPath(a), "Save", nil)
	f.Back, f.Notice = toPeople, notices[r.URL.Query().Get("done")]
	f.standingFields(a.Standing)
	f.Cancel = page.Link{Text: "New password", Href: personPath(a) + "/password"}
	access := page.Choice{Value: "closed", Label: "Close the account"}
	intro := "Ends every session. Phones of this person hand in what they hold and receive nothing more."
	if a.Disabled {
		access, intro = page.Choice{Value: "open", Label: "Open it again"}, "The account is closed."
	}
	f.After = &page.Taps{Heading: "Access", Intro: intro, Action: personPath(a) + "/access", Name: "access", Choices: []page.Choice{access}}
	return s.show(w, r, f, http.StatusOK)
}

func (s *Server) changePerson(w http.ResponseWriter, r *http.Request) error {
	name := r.PathValue("person")
	if err := s.Book.SetStanding(r.Context(), who(r).account.Name, name, standing(r)); err != nil {
		return err
	}
	return see(w, r, "/office/people/"+url.PathEscape(name)+"?done=changed")
}

func (s *Server) changeAccess(w http.ResponseWriter, r *http.Request) error {
	name, access := r.PathValue("person"), r.PostFormValue("access")
	if access != "open" && access != "closed" {
		return &account.InputError{Field: "access", Message: "Choose whether the account is open or closed."}
	}
	if err := s.Book.Disable(r.Context(), who(r).account.Name, name, access == "open"); err != nil {
		return err
	}
	done := "closed"
	if access == "open" {
		done = "opened"
	}
	return see(w, r, "/office/people/"+url.PathEscape(name)+"?done="+done)
}

func (s *Server) password(w http.ResponseWriter, r *http.Request) error {
	return s.showPassword(w, r, nil, http.StatusOK)
}

func (s *Server) showPassword(w http.ResponseWriter, r *http.Request, wrong error, status int) error {
	a, err := s.Book.Account(r.Context(), r.PathValue("person"))
	if err != nil {
		return err
	}
	f := newSecretForm("New password for "+a.Name, personPath(a)+"/password", "Set it", wrong)
	f.Back = page.Link{Text: a.Name, Href: personPath(a)}
	f.Intro = "Ends every session of this person. Tell it in person, and let it be changed after the first sign-in."
	f.field(newPasswordField())
	return s.show(w, r, f, status)
}

func (s *Server) changePassword(w http.ResponseWriter, r *http.Request) error {
	name := r.PathValue("person")
	err := s.Book.SetPassword(r.Context(), who(r).account.Name, name, r.PostFormValue("password"))
	var input *account.InputError
	if errors.As(err, &input) {
		return s.showPassword(w, r, err, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	return see(w, r, "/office/people/"+url.PathEscape(name)+"?done=password")
}
