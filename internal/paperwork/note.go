package paperwork

import "strings"

// Note is the dated note left on the unit.
type Note struct {
	Unit     string // property, system, unit
	UnitID   string
	Day      string // 2026-07-14
	By       string // who, and where to reach them
	Said     string // the complaint
	Found    string // the cause
	Did      string
	Charge   string // refrigerant and total charge
	Added    string // refrigerant added in this visit
	Readings []Reading
	Unjudged []string // why charge was not judged; empty if it was
	Todo     string   // what stays to be done
	Filter   string
	Due      string // next visit
	More     int    // readings and reasons that are on paper only
	Other    []Line // lines of a word this program does not know
}

// Reading is one reading as read.
type Reading struct {
	Name  string
	Value string // with unit, as read
	Doubt string // "not settled", or empty
}

// Line is a fact of a code: a word in capitals and the rest.
type Line struct {
	Word string
	Text string
}

// String is the reading in one line.
func (r Reading) String() string {
	if r.Doubt == "" {
		return r.Value
	}
	return r.Value + ", " + r.Doubt
}

// Headline says in one line what was wrong and what was done.
func (n Note) Headline() string {
	var parts []string
	for _, s := range []string{n.Said, n.Found, n.Did} {
		if s != "" {
			parts = append(parts, s)
		}
	}
	return strings.Join(parts, " → ")
}
