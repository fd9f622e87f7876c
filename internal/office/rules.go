package office

import (
	"net/http"
	"slices"

	"rung/internal/account"
)

// rule says who may come to an address.
type rule struct {
	anyone bool           // also who has not signed in
	roles  []account.Role // else these
	inSelf bool           // and only signed in with a password, not as a phone
}

// The groups of the table.
var (
	anyone  = rule{anyone: true}
	shop    = rule{roles: account.Roles()}
	field   = rule{roles: []account.Role{account.Owner, account.Mechanic, account.Apprentice}}
	masters = rule{roles: []account.Role{account.Owner, account.Mechanic}}
	seniors = rule{roles: []account.Role{account.Owner, account.Mechanic, account.Office}}
	self    = rule{roles: account.Roles(), inSelf: true}
	owner   = rule{roles: []account.Role{account.Owner}, inSelf: true}
)

// rules holds every address that somebody may come to. What is not here may be
// read by the shop, and sent by nobody: a new form is placed here first.
//
// practice: a reading carries the name of who took it, so the office takes none;
// what others wrote is handed on, and taken in, by who answers for it;
// an apprentice does the work and somebody else says that it is finished, and
// what the customer gets of it.
var rules = map[string]rule{
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

	"/":          shop,
	"GET /{$}":   shop,
	"GET /api/":  shop,
	"POST /api/": shop,

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
	"POST /properties/{property}/settle":         masters,
	"POST /visits/{visit}/close":                 masters,
	"POST /learned/aside":                        owner,
	"POST /learned/again":                        owner,
	"POST /learned/share":                        owner,
	"GET /hand-over":                             seniors,
	"GET /hand-over/":                            seniors,
	"POST /hand-over/":                           seniors,
	"GET /properties/{property}/entries":         seniors,
	"POST /visits/{visit}/recommendations":       seniors,
	"POST /visits/{visit}/links":                 seniors,
	"POST /visits/{visit}/links/withdraw":        seniors,

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
	"GET /office/phones":                    self, // whose, see mayHandle
	"POST /office/phones":                   self,
	"POST /office/phones/{phone}/revoke":    self,
}

// ruleMux finds the address of a request in the table.
func ruleMux() *http.ServeMux {
	mux := http.NewServeMux()
	for pattern := range rules {
		mux.Handle(pattern, http.NotFoundHandler())
	}
	return mux
}

// ruleOf returns the rule of a request; false if nobody may send it.
func (s *Server) ruleOf(r *http.Request) (rule, bool) {
	_, pattern := s.rules.Handler(r)
	found, listed := rules[pattern]
	if !listed {
		return rule{}, false
	}
	reads := r.Method == http.MethodGet || r.Method == http.MethodHead
	return found, reads || pattern != "/"
}

// allows reports whether somebody may come.
func (u rule) allows(id identity) bool {
	if u.anyone || id.alone {
		return true
	}
	return slices.Contains(u.roles, id.account.Role) && (!u.inSelf || id.session != "")
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
