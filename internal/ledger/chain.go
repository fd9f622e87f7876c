package ledger

import (
	"slices"
	"strings"
	"unicode"

	"rung/internal/record"
)

// ChainLinks lists the links of a chain in their order.
var ChainLinks = []string{record.LinkIndoorUnit, record.LinkOutdoorUnit, record.LinkDisconnect, record.LinkBreaker}

// Found is one finding of a link.
type Found struct {
	record.LinkFound
	Stamp Stamp
	// Entered says that it is nobody's finding: a unit was entered under the
	// system, which is worth as much as a label.
	Entered bool
}

// Chain is what is known of which unit, disconnect and breaker belong to a
// system: one Link of each of ChainLinks.
type Chain struct {
	System *System
	Links  []Link
}

// Link is a link of a chain.
type Link struct {
	Kind  string // one of ChainLinks
	Label *Found // what the label says, as last read; nil if nobody read one
	Proof *Found // what the last test showed; nil if none counts
	// Stale says that a test was made and counts no more: the disconnect was
	// proved on another outdoor unit than the system has now, or the breaker on
	// another disconnect. So it is when control wires are changed over.
	Stale bool

	label, proof           string // what the two name, to be compared
	labelWords, proofWords string // the same in plain words
}

// Value returns what the link is taken to be, a test before any label; false
// if nothing is known.
func (l Link) Value() (Found, bool) {
	switch {
	case l.Proof != nil:
		return *l.Proof, true
	case l.Label != nil:
		return *l.Label, true
	}
	return Found{}, false
}

// Proved reports whether a test showed it.
func (l Link) Proved() bool { return l.Proof != nil }

// thing is what the value names, empty if nothing is known.
func (l Link) thing() string {
	if l.Proof != nil {
		return l.proof
	}
	return l.label
}

// Chains returns the chain of every system.
func (p *Property) Chains() []Chain {
	var list []Chain
	for _, s := range p.Systems {
		c := Chain{System: s}
		for _, kind := range ChainLinks {
			c.Links = append(c.Links, p.link(s, kind))
		}
		list = append(list, c)
	}
	return list
}

// restsOn names the link on which the proof of another rests.
var restsOn = map[string]string{record.LinkDisconnect: record.LinkOutdoorUnit, record.LinkBreaker: record.LinkDisconnect}

// link returns one link of a system as it stands.
func (p *Property) link(s *System, kind string) Link {
	l := p.gather(s, kind, s.Found)
	on, rests := restsOn[kind]
	if !rests || l.Proof == nil {
		return l
	}
	proved := slices.IndexFunc(s.Found, func(f Found) bool { return f.Stamp.Entry == l.Proof.Stamp.Entry })
	then, now := p.gather(s, on, s.Found[:proved]), p.link(s, on)
	if now.Stale || then.thing() != "" && then.thing() != now.thing() {
		l.Proof, l.proof, l.proofWords, l.Stale = nil, "", "", true
	}
	return l
}

// gather returns a link of a system as some findings tell it.
func (p *Property) gather(s *System, kind string, found []Found) Link {
	l := Link{Kind: kind}
	if u, ok := find(s.Units, func(u *Unit) bool { return LinkOf(u.Kind) == kind }); ok {
		l.Label = &Found{Entered: true, Stamp: u.Added, LinkFound: record.LinkFound{
			System: s.System, Link: kind, Place: u.name(s), Unit: u.Unit, How: record.ByLabel}}
	}
	for i := range found {
		switch f := &found[i]; {
		case f.Link != kind:
		case f.How == record.ByLabel:
			l.Label = f
		default:
			l.Proof = f
		}
	}
	if l.Label != nil {
		l.label, l.labelWords = p.thing(l.Label.LinkFound), plainPlace(p.PlaceOf(l.Label.LinkFound))
	}
	if l.Proof != nil {
		l.proof, l.proofWords = p.thing(l.Proof.LinkFound), plainPlace(p.PlaceOf(l.Proof.LinkFound))
	}
	return l
}

// LinkOf returns the link that a unit of a kind makes in a chain; empty if none.
func LinkOf(unitKind string) string {
	switch unitKind {
	case "outdoor-unit":
		return record.LinkOutdoorUnit
	case "air-handler", "furnace":
		return record.LinkIndoorUnit
	}
	return ""
}

// name returns by which words a unit of s is told from others.
func (u *Unit) name(s *System) string {
	for _, name := range []string{u.Place, u.Label} {
		if name != "" {
			return name
		}
	}
	return "of " + s.Title()
}

// PlaceOf returns where a finding points, in words: the place of the unit as
// last entered, or the words of the finding.
func (p *Property) PlaceOf(f record.LinkFound) string {
	if u, s, known := p.Unit(f.Unit); known {
		return u.name(s)
	}
	return f.Place
}

// ofUnit begins what names a unit that is entered; no plain place holds a blank.
const ofUnit = "unit "

// thing returns what a finding names, the same for findings that name the same
// unit, disconnect or breaker in other words.
func (p *Property) thing(f record.LinkFound) string {
	if _, _, known := p.Unit(f.Unit); known {
		return ofUnit + string(f.Unit)
	}
	want, same := plainPlace(f.Place), []record.UnitID{}
	for _, s := range p.Systems {
		for _, u := range s.Units {
			if LinkOf(u.Kind) == f.Link && plainPlace(u.name(s)) == want {
				same = append(same, u.Unit)
			}
		}
	}
	if len(same) == 1 { // two units that stand "in the attic" are not told apart by it
		return ofUnit + string(same[0])
	}
	return want
}

// idle are the words that may be said or left out before the number of a
// breaker or a disconnect.
var idle = []string{"breaker", "breakers", "disconnect", "no", "number", "and"}

// plainPlace strips a place to what tells it from others: "Breaker 14 / 16" is
// "14-16".
func plainPlace(s string) string {
	words := strings.FieldsFunc(strings.ToLower(s), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	words = slices.DeleteFunc(words, func(w string) bool { return slices.Contains(idle, w) })
	return strings.Join(words, "-")
}

// ConflictKind says how findings disagree.
type ConflictKind string

// The kinds of conflict.
const (
	// Crossed: of two systems each has by test what is by label the other's.
	Crossed ConflictKind = "crossed"
	// Shared: systems claim the same unit, disconnect or breaker.
	Shared ConflictKind = "shared"
	// LabelDiffers: a test showed another than the label says.
	LabelDiffers ConflictKind = "label-differs"
)

// Conflict is a disagreement about one link.
type Conflict struct {
	Kind    ConflictKind
	Link    string
	Systems []record.SystemID // one for LabelDiffers, two for Crossed, two or more for Shared
}

// Conflicts returns where chains disagree, link by link: crossed pairs first,
// then what is shared, then labels that a test belied.
func Conflicts(chains []Chain) []Conflict {
	var crossed, shared, differs []Conflict
	for i, kind := range ChainLinks {
		paired := map[record.SystemID]bool{}
		claims := map[string][]record.SystemID{}
		for a, c := range chains {
			l := c.Links[i]
			for _, other := range chains[a+1:] {
				if l.crossedWith(other.Links[i]) {
					pair := []record.SystemID{c.System.System, other.System.System}
					crossed = append(crossed, Conflict{Crossed, kind, pair})
					paired[pair[0]], paired[pair[1]] = true, true
				}
			}
			if thing := l.thing(); thing != "" {
				claims[thing] = append(claims[thing], c.System.System)
			}
			if l.differs() && !paired[c.System.System] {
				differs = append(differs, Conflict{LabelDiffers, kind, []record.SystemID{c.System.System}})
			}
		}
		for _, c := range chains { // in the order of the systems
			if thing := c.Links[i].thing(); len(claims[thing]) > 1 && claims[thing][0] == c.System.System {
				shared = append(shared, Conflict{Shared, kind, claims[thing]})
			}
		}
	}
	return slices.Concat(crossed, shared, differs)
}

// differs reports whether a test showed another than the label says. Words that
// only say more do not differ: "attic" and "attic, over the stairs".
func (l Link) differs() bool {
	if l.Proof == nil || l.Label == nil || l.proof == l.label {
		return false
	}
	return l.twoUnits() || !saysMore(l.labelWords, l.proofWords) && !saysMore(l.proofWords, l.labelWords)
}

// twoUnits reports whether both name a unit that is entered.
func (l Link) twoUnits() bool {
	return strings.HasPrefix(l.proof, ofUnit) && strings.HasPrefix(l.label, ofUnit)
}

// saysMore reports whether long begins with all the words of short.
func saysMore(long, short string) bool { return long == short || strings.HasPrefix(long, short+"-") }

// crossedWith reports whether each of two links is by test what the other is
// by label.
func (l Link) crossedWith(other Link) bool {
	return l.differs() && other.differs() && l.proof == other.label && other.proof == l.label
}
