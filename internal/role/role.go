package role

import (
	"slices"

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

// All lists the roles.
func All() []Role { return []Role{Owner, Mechanic, Apprentice, Office} }

// Valid reports whether r is one of All.
func (r Role) Valid() bool { return slices.Contains(All(), r) }

// Standing is a role with the licences that the law wants at the unit.
type Standing struct {
	Role        Role   `json:"role"`
	Refrigerant bool   `json:"refrigerant,omitempty"`
	Gas         bool   `json:"gas,omitempty"`
	Electrician bool   `json:"electrician,omitempty"`
	Certificate string `json:"certificate,omitempty"`
}

// Person returns what somebody of this standing is at the unit. Who is in the
// office only is nobody there: his role is empty.
func (s Standing) Person(name string) record.Person {
	p := record.Person{Name: name, Refrigerant: s.Refrigerant, Gas: s.Gas, Electrician: s.Electrician, Certificate: s.Certificate}
	switch s.Role {
	case Owner, Mechanic:
		p.Role = "mechanic"
	case Apprentice:
		p.Role = "apprentice"
	}
	return p
}
