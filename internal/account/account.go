package account

import (
	"slices"
	"strings"
	"time"

	"rung/internal/record"
	"rung/internal/role"
)

// Role and Standing are what a person is in the shop, see package role.
type (
	Role     = role.Role
	Standing = role.Standing
)

// The roles.
const (
	Owner      = role.Owner
	Mechanic   = role.Mechanic
	Apprentice = role.Apprentice
	Office     = role.Office
)

// Roles lists all roles.
func Roles() []Role { return role.All() }

// Account is a person who can sign in.
type Account struct {
	Key  string `json:"key"`  // the name as it is compared
	Name string `json:"name"` // as it stands beside every entry of the work
	Standing
	Disabled bool       `json:"disabled,omitempty"`
	Closed   *time.Time `json:"closed,omitempty"` // since when it is disabled
	Added    time.Time  `json:"added"`

	password credential
}

// credential is the password in force, by its hash, and the entry that set it.
type credential struct {
	hash  string
	entry record.EntryID
}

// Person returns what the account's owner is at the unit. Who is in the office
// only is nobody there.
func (a Account) Person() record.Person { return a.Standing.Person(a.Name) }

// Phone is a phone that was enrolled for a person.
type Phone struct {
	ID       string     `json:"id"`
	Label    string     `json:"label"` // "Ada's, blue case"
	Account  string     `json:"account"`
	Enrolled time.Time  `json:"enrolled"`
	Revoked  *time.Time `json:"revoked,omitempty"`
	// Names are those under which it writes into the journal of the work, as it
	// said when it exchanged entries.
	Names []string `json:"names,omitempty"`
	// Told is what it was told about its person, and when, the latest last.
	Told []Told `json:"told,omitempty"`

	token string // SHA-256 of the token, hex
}

// Told is what a phone was told about its person at a moment.
type Told struct {
	At time.Time `json:"at"`
	Standing
	Revoked bool `json:"revoked,omitempty"` // or its person may no longer sign in
}

// Device returns the name of the phone in the journal of the work.
func (p Phone) Device() string { return "phone-" + strings.ToLower(p.ID) }

// Writes reports whether the phone writes under a name: its own at the office, or
// one that it gave itself.
func (p Phone) Writes(name string) bool { return name == p.Device() || slices.Contains(p.Names, name) }

// skew is how far the clock of a phone may be from that of the office before
// what it wrote near a change is judged by the wrong side of it.
//
// practice: phones set their clock by the network; a quarter of an hour is the
// clock of one that was set by hand.
const skew = 15 * time.Minute

// At returns what the phone was told to be at a moment: more than one if that
// changed near it. Before it was told anything it is what it was told first,
// and untold is true. Nothing is returned for a phone that was told nothing.
func (p Phone) At(t time.Time) (all []Standing, untold bool) {
	for i, told := range p.Told {
		began := i == 0 || !told.At.After(t.Add(skew))
		over := i+1 < len(p.Told) && p.Told[i+1].At.Before(t.Add(-skew))
		if began && !over {
			all = append(all, told.Standing)
		}
	}
	return all, len(p.Told) > 0 && t.Before(p.Told[0].At.Add(skew))
}

// Ended reports whether the phone had been revoked, or its person's account been
// closed, at a moment.
func (p Phone) Ended(a Account, t time.Time) bool {
	before := func(end *time.Time) bool { return end != nil && end.Add(skew).Before(t) }
	return before(p.Revoked) || before(a.Closed)
}

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
