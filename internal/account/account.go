package account

import (
	"slices"
	"strings"
	"time"

	"rung/internal/record"
)

// Role is what a person does in the shop.
type Role string

// The roles.
const (
	Owner      Role = "owner"      // everything, and the only one who changes people
	Mechanic   Role = "mechanic"   // the work at the unit
	Apprentice Role = "apprentice" // the work at the unit, under somebody's eye
	Office     Role = "office"     // properties, visits to come, phones, papers
)

// Roles lists all roles.
func Roles() []Role { return []Role{Owner, Mechanic, Apprentice, Office} }

// Valid reports whether r is one of Roles.
func (r Role) Valid() bool { return slices.Contains(Roles(), r) }

// Standing is a role with the licences that the law wants at the unit.
type Standing struct {
	Role        Role   `json:"role"`
	Refrigerant bool   `json:"refrigerant,omitempty"`
	Gas         bool   `json:"gas,omitempty"`
	Electrician bool   `json:"electrician,omitempty"`
	Certificate string `json:"certificate,omitempty"`
}

// Account is a person who can sign in.
type Account struct {
	Key  string `json:"key"`  // the name as it is compared
	Name string `json:"name"` // as it stands beside every entry of the work
	Standing
	Disabled bool      `json:"disabled,omitempty"`
	Added    time.Time `json:"added"`

	password credential
}

// credential is the password in force, by its hash, and the entry that set it.
type credential struct {
	hash  string
	entry record.EntryID
}

// Person returns what the account's owner is at the unit. Who is in the office
// only is nobody there.
func (a Account) Person() record.Person {
	p := record.Person{Name: a.Name, Refrigerant: a.Refrigerant, Gas: a.Gas, Electrician: a.Electrician, Certificate: a.Certificate}
	switch a.Role {
	case Owner, Mechanic:
		p.Role = "mechanic"
	case Apprentice:
		p.Role = "apprentice"
	}
	return p
}

// Phone is a phone that was enrolled for a person.
type Phone struct {
	ID       string     `json:"id"`
	Label    string     `json:"label"` // "Ada's, blue case"
	Account  string     `json:"account"`
	Enrolled time.Time  `json:"enrolled"`
	Revoked  *time.Time `json:"revoked,omitempty"`

	token string // SHA-256 of the token, hex
}

// Device returns the name of the phone in the journal of the work.
func (p Phone) Device() string { return "phone-" + strings.ToLower(p.ID) }

// Grant says what a phone may do when it exchanges entries. A phone that was
// revoked, or whose person may no longer sign in, still hands in what it holds:
// that work was done. It receives nothing more.
type Grant struct {
	Device, Author string
	Send           bool // may append what it wrote
	Receive        bool // may read what others wrote
}

// keyOf returns the form in which names are compared: "Ada  Sample" and
// "ada sample" are one person.
func keyOf(name string) string { return strings.ToLower(strings.Join(strings.Fields(name), " ")) }
