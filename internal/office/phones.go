package office

import (
	"encoding/json"
	"errors"
	"net/http"
	"net/url"
	"time"

	"rung/internal/account"
	"rung/internal/paperwork"
	"rung/internal/web/page"
)

func (s *Server) phones(w http.ResponseWriter, r *http.Request) error {
	return s.showPhones(w, r, nil, http.StatusOK)
}

// showPhones lists the phones that somebody may handle, and a code just made.
func (s *Server) showPhones(w http.ResponseWriter, r *http.Request, code *page.PhoneCode, status int) error {
	id := who(r)
	people, err := s.Book.List(r.Context())
	if err != nil {
		return err
	}
	phones, err := s.Book.Phones(r.Context())
	if err != nil {
		return err
	}
	p := page.PhonesPage{Shell: s.shell(r, "Phones", page.Link{Text: "Office", Href: "/office"}), Code: code, Action: "/office/phones"}
	owners := map[string]account.Account{}
	for _, a := range people {
		if !mayHandle(id, a) {
			continue
		}
		owners[a.Key] = a
		if !a.Disabled {
			p.People = append(p.People, page.Choice{Value: a.Key, Label: a.Name})
		}
	}
	for _, x := range phones {
		a, mine := owners[x.Account]
		if !mine {
			continue
		}
		line := page.PhoneLine{Label: x.Label, Who: a.Name, Since: s.day(x.Enrolled), Knows: knows(x, a)}
		if x.Revoked != nil {
			line.Revoked = s.day(*x.Revoked)
		} else {
			line.Revoke = &page.Undo{Action: "/office/phones/" + x.ID + "/revoke"}
		}
		p.Phones = append(p.Phones, line)
	}
	return s.render(w, r, status, page.Phones(p))
}

// knows says what a phone still takes its person for; empty if it knows how he
// stands. What it has not been told does not hold in it.
func knows(p account.Phone, a account.Account) string {
	out := p.Revoked != nil || a.Disabled
	if len(p.Told) == 0 {
		return "has not exchanged yet, and knows no role"
	}
	switch told := p.Told[len(p.Told)-1]; {
	case out && !told.Revoked:
		return "does not know yet that it is out; learns it with the next exchange"
	case told.Role != a.Role:
		return "knows the role " + roleNames[told.Role] + "; " + roleNames[a.Role] + " from the next exchange on"
	case told.Standing != a.Standing:
		return "learns of other licences with the next exchange"
	}
	return ""
}

func (s *Server) day(t time.Time) string { return t.In(s.Zone).Format("2 January 2006") }

// origin is the scheme and host under which the request came in.
func origin(r *http.Request) string {
	if secured(r) {
		return "https://" + r.Host
	}
	return "http://" + r.Host
}

// makeCode makes a code for one phone and shows it in the answer itself: it is
// kept nowhere, so there is no page to go on to.
func (s *Server) makeCode(w http.ResponseWriter, r *http.Request) error {
	id := who(r)
	a, err := s.Book.Account(r.Context(), r.PostFormValue("person"))
	if err != nil {
		return err
	}
	if !mayHandle(id, a) {
		return account.ErrDenied
	}
	code, until, err := s.Book.PhoneCode(r.Context(), id.account.Name, a.Key)
	if err != nil {
		return err
	}
	at := origin(r) + "/enrol?" + url.Values{"code": {code}}.Encode()
	symbol, err := paperwork.SymbolOf(at)
	if err != nil {
		return err
	}
	return s.showPhones(w, r, &page.PhoneCode{Who: a.Name, Until: until.In(s.Zone).Format("15:04"), Address: at, Symbol: symbol.SVG("Code to enrol a phone")}, http.StatusOK)
}

func (s *Server) revoke(w http.ResponseWriter, r *http.Request) error {
	phones, err := s.Book.Phones(r.Context())
	if err != nil {
		return err
	}
	for _, p := range phones {
		if p.ID != r.PathValue("phone") {
			continue
		}
		a, err := s.Book.Account(r.Context(), p.Account)
		if err != nil {
			return err
		}
		if !mayHandle(who(r), a) {
			return account.ErrDenied
		}
		if p.Revoked == nil {
			if err := s.Book.Revoke(r.Context(), who(r).account.Name, p.ID); err != nil {
				return err
			}
		}
		return see(w, r, "/office/phones?done=revoked")
	}
	return account.ErrUnknown
}

// enrol shows, on the phone, for whom it is about to be enrolled. Looking does
// not use the code up: some programs fetch an address before a person does.
func (s *Server) enrol(w http.ResponseWriter, r *http.Request) error {
	return s.showEnrol(w, r, nil, http.StatusOK)
}

func (s *Server) showEnrol(w http.ResponseWriter, r *http.Request, wrong error, status int) error {
	a, err := s.Book.PhoneCodeFor(r.Context(), r.FormValue("code"))
	if err != nil {
		return err
	}
	f := newSecretForm("This phone is "+a.Name+"’s", "/enrol", "Enrol this phone", wrong)
	f.Intro = "What is entered on it stands in the record under this name. If you want it on the home screen, add it there first and open it from there: some phones keep the two apart."
	f.Hidden = []page.Hidden{{Name: "code", Value: r.FormValue("code")}}
	f.field(page.Field{Name: "label", Label: "Name of the phone", Value: r.PostFormValue("label"), Hint: "To tell it from others if it is lost, such as its colour."})
	if !mayTakeSecrets(r) {
		f.Wrong = plainHTTP
	}
	return s.show(w, r, f, status)
}

// doEnrol makes the phone one of the shop's. Its secret is new, whatever the
// browser brought, and reaches it in a cookie that no script reads.
func (s *Server) doEnrol(w http.ResponseWriter, r *http.Request) error {
	if !mayTakeSecrets(r) {
		return s.showEnrol(w, r, nil, http.StatusForbidden)
	}
	token, p, err := s.Book.Enrol(r.Context(), r.PostFormValue("code"), r.PostFormValue("label"))
	var input *account.InputError
	if errors.As(err, &input) {
		return s.showEnrol(w, r, err, http.StatusUnprocessableEntity)
	}
	if err != nil {
		return err
	}
	s.Log.Info("a phone was enrolled", "phone", p.Device())
	setCookie(w, r, phoneCookie, token)
	return see(w, r, "/phone?enrolled")
}

// deviceAnswer tells a phone who it is, for its own pages.
type deviceAnswer struct {
	Device      string `json:"device"`
	Author      string `json:"author"`
	Send        bool   `json:"send"`
	Receive     bool   `json:"receive"`
	Role        string `json:"role,omitempty"` // at the unit
	Refrigerant bool   `json:"refrigerant,omitempty"`
	Gas         bool   `json:"gas,omitempty"`
	Electrician bool   `json:"electrician,omitempty"`
	Certificate string `json:"certificate,omitempty"`
}

// device answers who a phone is and what it may do.
func (s *Server) device(w http.ResponseWriter, r *http.Request) error {
	w.Header().Set("Content-Type", "application/json")
	w.Header().Set("Cache-Control", "no-store")
	g, err := s.Authorise(r)
	if errors.Is(err, account.ErrDenied) {
		w.WriteHeader(http.StatusUnauthorized)
		return json.NewEncoder(w).Encode(map[string]any{"error": map[string]string{"kind": "denied", "message": "this is no phone of the shop"}})
	}
	if err != nil {
		return err
	}
	a, err := s.Book.Account(r.Context(), g.Author)
	if err != nil {
		return err
	}
	s.keepPhone(w, r)
	p := a.Person()
	return json.NewEncoder(w).Encode(deviceAnswer{g.Device, g.Author, g.Send, g.Receive, p.Role, p.Refrigerant, p.Gas, p.Electrician, p.Certificate})
}

// mayHandle says whether somebody may enrol and revoke the phones of another:
// everybody his own, the office those of all but owners, whose phones it could
// otherwise speak for.
func mayHandle(who identity, whose account.Account) bool {
	switch {
	case who.alone, who.account.Role == account.Owner, who.account.Key == whose.Key:
		return true
	case who.account.Role == account.Office:
		return whose.Role != account.Owner
	}
	return false
}
