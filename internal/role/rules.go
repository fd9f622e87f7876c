package role

import (
	"net/http"
	"slices"
)

// Rule says who may come to an address.
type Rule struct {
	Anyone bool   // also who has not signed in
	Roles  []Role // else these
	InSelf bool   // and only signed in with a password, not as a phone
}

// The groups of the tables.
var (
	anyone  = Rule{Anyone: true}
	shop    = Rule{Roles: All()}
	field   = Rule{Roles: []Role{Owner, Mechanic, Apprentice}}
	masters = Rule{Roles: []Role{Owner, Mechanic}}
	seniors = Rule{Roles: []Role{Owner, Mechanic, Office}}
	self    = Rule{Roles: All(), InSelf: true}
	owner   = Rule{Roles: []Role{Owner}, InSelf: true}
	keeper  = Rule{Roles: []Role{Owner}}
)

// Rules holds every address that somebody may come to. What is not here may be
// read by the shop, and sent by nobody: a new form is placed here first, and the
// kinds of entry that it writes in Kinds.
//
// practice: a reading carries the name of who took it, so the office takes none;
// what others wrote is handed on, and taken in, by who answers for it;
// an apprentice does the work and somebody else says that it is finished, and
// what the customer gets of it.
var Rules = map[string]Rule{
	"GET /static/":                   anyone,
	"GET /sw.js":                     anyone,
	"GET /favicon.ico":               anyone,
	"GET /sign-in":                   anyone,
	"POST /sign-in":                  anyone,
	"POST /sign-out":                 anyone,
	"GET /setup":                     anyone,
	"POST /setup":                    anyone,
	"GET /enrol":                     anyone,
	"POST /enrol":                    anyone,
	"GET /trust":                     anyone,
	"GET /trust/root.crt":            anyone,
	"GET /report/{token}":            anyone,
	"GET /report/{token}/report.pdf": anyone,
	"GET /api/device":                anyone, // asks for the phone's own token
	"POST /api/exchange":             anyone, // asks for the phone's own token

	"GET /report/{token}/photos/{hash}": anyone,
	"POST /api/exchange/photos":         anyone, // these ask for it too
	"POST /api/exchange/photos/{hash}":  anyone,
	"GET /api/exchange/photos/{hash}":   anyone,

	"/":          shop,
	"GET /{$}":   shop,
	"GET /api/":  shop,
	"POST /api/": shop,

	"POST /language":                             shop,
	"POST /phone/worker":                         shop,
	"POST /properties":                           shop,
	"POST /properties/{property}/edit":           shop,
	"POST /properties/{property}/systems":        shop,
	"POST /properties/{property}/tasks":          shop,
	"POST /systems/{system}/units":               shop,
	"POST /systems/{system}/visits":              shop,
	"POST /visits/{visit}/tasks":                 shop,
	"POST /units/{unit}/nameplate":               field,
	"POST /properties/{property}/chain/withdraw": field,
	"POST /systems/{system}/chain/{link}":        field,
	"POST /visits/{visit}/surroundings":          field,
	"POST /visits/{visit}/hazards":               field,
	"POST /visits/{visit}/readings":              field,
	"POST /visits/{visit}/refusals":              field,
	"POST /visits/{visit}/withdraw":              field,
	"POST /visits/{visit}/repair":                field,
	"POST /visits/{visit}/proof":                 field,
	"POST /visits/{visit}/note":                  field,
	"POST /visits/{visit}/photos":                field,
	"POST /units/{unit}/photos":                  field,

	"POST /properties/{property}/photos/{photo}/customer": field,
	"POST /properties/{property}/photos/{photo}/withdraw": field,

	"POST /properties/{property}/settle":   masters,
	"POST /visits/{visit}/close":           masters,
	"POST /learned/aside":                  owner,
	"POST /learned/again":                  owner,
	"POST /learned/share":                  owner,
	"GET /hand-over":                       seniors,
	"GET /hand-over/":                      seniors,
	"POST /hand-over/":                     seniors,
	"GET /properties/{property}/entries":   seniors,
	"POST /visits/{visit}/recommendations": seniors,
	"POST /visits/{visit}/links":           seniors,
	"POST /visits/{visit}/links/withdraw":  seniors,

	"GET /office":                           shop,
	"GET /office/password":                  self,
	"POST /office/password":                 self,
	"GET /office/people":                    owner,
	"GET /office/people/new":                owner,
	"POST /office/people":                   owner,
	"GET /office/people/{person}":           owner,
	"POST /office/people/{person}":          owner,
	"POST /office/people/{person}/access":   owner,
	"GET /office/people/{person}/password":  owner,
	"POST /office/people/{person}/password": owner,
	"GET /office/phones":                    self, // whose, see mayHandle of package office
	"POST /office/phones":                   self,
	"POST /office/phones/{phone}/revoke":    self,
	"GET /office/held":                      owner,
	"POST /office/held":                     owner,
}

// inPhone holds what is otherwise in the program of a phone: there everybody
// hands over what waits on his own phone, and nobody signs in with a password.
// Taking in what others wrote stays with who answers for it.
var inPhone = map[string]Rule{
	"GET /hand-over":         shop,
	"GET /hand-over/":        shop,
	"POST /hand-over/run":    shop,
	"POST /hand-over/photos": shop,
	"POST /hand-over/seen":   shop,
	"POST /hand-over/want":   shop,
	"POST /learned/aside":    keeper,
	"POST /learned/again":    keeper,
	"POST /learned/share":    keeper,
	"POST /hand-over/file":   seniors,
	"POST /hand-over/texts":  seniors,
}

// afterRevocation are the forms that a phone takes which was revoked: handing in
// what it holds. All else on it can only be read.
var afterRevocation = []string{"POST /hand-over/run", "POST /hand-over/photos", "POST /hand-over/seen"}

// Allows reports whether somebody of a role may come. signedIn says that he gave
// his password, and is not a phone that speaks in his name.
func (u Rule) Allows(r Role, signedIn bool) bool {
	return u.Anyone || slices.Contains(u.Roles, r) && (!u.InSelf || signedIn)
}

// Table finds the rule of a request.
type Table struct {
	mux   *http.ServeMux
	rules map[string]Rule
}

// AtOffice returns the table of the server, InPhone that of the program in a
// phone.
func AtOffice() Table { return newTable(Rules) }

// InPhone is described at AtOffice.
func InPhone() Table { return newTable(Rules, inPhone) }

// newTable puts tables together; the later one stands.
func newTable(all ...map[string]Rule) Table {
	t := Table{http.NewServeMux(), map[string]Rule{}}
	for _, rules := range all {
		for pattern, rule := range rules {
			if _, again := t.rules[pattern]; !again {
				t.mux.Handle(pattern, http.NotFoundHandler())
			}
			t.rules[pattern] = rule
		}
	}
	return t
}

// Of returns the rule of a request; false if nobody may send it.
func (t Table) Of(r *http.Request) (Rule, bool) {
	_, pattern := t.mux.Handler(r)
	found, listed := t.rules[pattern]
	if !listed {
		return Rule{}, false
	}
	reads := r.Method == http.MethodGet || r.Method == http.MethodHead
	return found, reads || pattern != "/"
}

// OpenToRevoked reports whether a phone that was revoked takes this request.
func (t Table) OpenToRevoked(r *http.Request) bool {
	if r.Method == http.MethodGet || r.Method == http.MethodHead {
		return true
	}
	_, pattern := t.mux.Handler(r)
	return slices.Contains(afterRevocation, pattern)
}
