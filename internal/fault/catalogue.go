package fault

import (
	"maps"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"

	"rung/internal/plant"
	"rung/internal/source"
)

// Fault is one thing that can be wrong.
type Fault struct {
	ID     string
	Name   Text   // a few plain words, for lists, drawings and sentences
	Group  string // cooling, control, airflow, refrigerant, furnace, heat-pump, electric-heat, hydronic
	Part   string
	Mode   string
	Text   Text   // one plain sentence
	Repair string // id of the repair that cures it
	// Weight is the prior weight relative to all faults of the catalogue, Origin
	// where it comes from.
	Weight float64
	Origin source.Source
	// When lists the equipment without which the fault cannot be; parameters of
	// the effects may ask for more, see Fits.
	When []plant.Equipment
	// Unless lists the equipment with which the fault cannot be.
	Unless []plant.Equipment
	// Complaints holds the share of calls with this fault that arrive with each
	// complaint named; the rest, 1 minus their sum, is spread over all others.
	Complaints map[string]float64
	// InHeat holds the shares of the complaints of heating alone, among the calls
	// with this fault that arrive in the heating season; nil where Complaints
	// names them, or where the fault is of cooling alone.
	InHeat map[string]float64
	// SeverityText says what the number of Severity means; empty for a fault
	// that is there or not.
	SeverityText Text
	Effects      []Effect
	Charge       bool // a matter of the amount of refrigerant
	// Duty is the share of the time in which the fault acts, if it comes and goes; 0 means always.
	Duty    float64
	Healthy bool // no fault at all: the design or the expectations are at their limit
	// Wiring says that the plant does not have the fault: its effect is the edit
	// of the same id in the descriptions of package system. A fault with effects
	// may stand in a description too and is not marked.
	Wiring bool
}

// Repair is one way to put faults right.
type Repair struct {
	ID   string
	Name Text
	Part string
	// Minutes is hands-on time, Wrong the price of doing it in vain, in minutes.
	Minutes, Wrong float64
	// Fix is the chance that a repair of the right part cures.
	Fix float64
	// Invasive names what it opens or gives up for good: circuit, compressor,
	// board; empty for none.
	Invasive string
	Charge   bool     // it changes the charge
	Licence  string   // refrigerant, electrician or gas, where the law asks for it; may be empty
	Safety   string   // safety class of the checks: s0 to s6
	Needs    []string // set-up states of the checks that it needs
	Cautions []string // ids of cautions of the checks
	Note     Text     // shown with the repair; may be empty
	Why      Text     // what to ask about the part that failed
	Proof    []string // ids of the checks that prove it
	Induces  []string // ids of the faults that are left behind where it is done without care
}

// Complaint is a class of complaint, in the words in which it arrives.
type Complaint struct {
	ID   string
	Word Text     // how pages name it
	Says []string // what a customer says
	Ask  string   // what to ask back
	Mode string   // heat or cool where it belongs to that mode only, else empty
}

// In reports whether a system that works in these modes, heat or cool, can
// bring the complaint.
func (k *Complaint) In(modes ...string) bool { return k.Mode == "" || slices.Contains(modes, k.Mode) }

// Pair is two faults of which the first brings the second about, or which come
// together for one reason.
type Pair struct {
	ID            string
	First, Second string
	Together      bool // neither brings the other about
	// Either says that it is right to mend the second first, though the first brought
	// it about: ice is thawed, a hot compressor cooled, before anything else can be done.
	Either bool
	Rate   float64 // chance of the second, given the first
	Why    Text
}

// LeftOut is a fault of the trade that this machine cannot have.
type LeftOut struct{ ID, Reason string }

// Catalogue is everything under data/, in the order of the files.
type Catalogue struct {
	Faults     []Fault
	Repairs    []Repair
	Complaints []Complaint
	Pairs      []Pair
	LeftOut    []LeftOut
	Families   []Family
}

// Fault returns the fault with this id.
func (c *Catalogue) Fault(id string) (*Fault, bool) {
	return find(c.Faults, func(f *Fault) string { return f.ID }, id)
}

// Repair returns the repair with this id.
func (c *Catalogue) Repair(id string) (*Repair, bool) {
	return find(c.Repairs, func(r *Repair) string { return r.ID }, id)
}

// Pair returns the pair with this id.
func (c *Catalogue) Pair(id string) (*Pair, bool) {
	return find(c.Pairs, func(p *Pair) string { return p.ID }, id)
}

// Name returns the short name of a fault or a pair: of a pair "A, then B" where
// A brings B about, else "A, with B". Two faults that are no pair of the catalogue
// are named by "first+second".
func (c *Catalogue) Name(id string) (Text, bool) {
	if f, known := c.Fault(id); known {
		return f.Name, true
	}
	p, known := c.Pair(id)
	if !known {
		p = &Pair{Together: true} // two that nobody listed: "first+second"
		p.First, p.Second, _ = strings.Cut(id, "+")
	}
	first, one := c.Fault(p.First)
	second, two := c.Fault(p.Second)
	if !one || !two {
		return Text{}, false
	}
	en, es := ", then ", ", luego "
	if p.Together {
		en, es = ", with ", ", con "
	}
	return Text{EN: first.Name.EN + en + Inner(second.Name.EN), ES: first.Name.In("es") + es + Inner(second.Name.In("es"))}, true
}

// Inner returns a name as it stands within a sentence. One that begins with an
// abbreviation keeps its capitals.
func Inner(name string) string {
	first, size := utf8.DecodeRuneInString(name)
	if second, _ := utf8.DecodeRuneInString(name[size:]); unicode.IsLower(second) {
		return string(unicode.ToLower(first)) + name[size:]
	}
	return name
}

// Complaint returns the complaint with this id.
func (c *Catalogue) Complaint(id string) (*Complaint, bool) {
	return find(c.Complaints, func(k *Complaint) string { return k.ID }, id)
}

func find[T any](list []T, id func(*T) string, want string) (*T, bool) {
	for i := range list {
		if id(&list[i]) == want {
			return &list[i], true
		}
	}
	return nil, false
}

// ComplaintsIn returns the complaints that a system working in these modes,
// heat or cool, can bring: their number is the n of [Fault.Share].
func (c *Catalogue) ComplaintsIn(modes ...string) []*Complaint {
	var list []*Complaint
	for i := range c.Complaints {
		if c.Complaints[i].In(modes...) {
			list = append(list, &c.Complaints[i])
		}
	}
	return list
}

// Fits returns the faults that a plant with this equipment can have.
func (c *Catalogue) Fits(has func(plant.Equipment) bool) []*Fault {
	var list []*Fault
	for i := range c.Faults {
		if c.Faults[i].Fits(has) {
			list = append(list, &c.Faults[i])
		}
	}
	return list
}

// Fits reports whether a plant with this equipment can have the fault: all of
// When and nothing of Unless is there, and at every severity at least one effect has its parameter.
// A plant never has a fault of the wiring.
func (f *Fault) Fits(has func(plant.Equipment) bool) bool {
	if f.Wiring {
		return false
	}
	for _, e := range f.When {
		if !has(e) {
			return false
		}
	}
	for _, e := range f.Unless {
		if has(e) {
			return false
		}
	}
	for i := range f.Effects {
		e := &f.Effects[i]
		if e.wholeRange() && !has(e.Param.Describe().Needs) && !f.spared(e, has) {
			return false
		}
	}
	return true
}

// spared reports whether the fault still means something without e: another
// effect that is always there has its parameter. A welded two-pole contactor
// has two parameters, a one-pole contactor only the first.
func (f *Fault) spared(e *Effect, has func(plant.Equipment) bool) bool {
	for i := range f.Effects {
		o := &f.Effects[i]
		if o != e && o.wholeRange() && o.Param.Describe().Part() == e.Param.Describe().Part() && has(o.Param.Describe().Needs) {
			return true
		}
	}
	return false
}

// Share returns the share of calls with this fault that arrive with the
// complaint, one of n complaint classes in all; for a complaint of InHeat the
// share of those in the heating season.
func (f *Fault) Share(complaint string, n int) float64 {
	if share, named := f.Complaints[complaint]; named {
		return share
	}
	if share, named := f.InHeat[complaint]; named {
		return share
	}
	rest := 1.0
	for _, named := range slices.Sorted(maps.Keys(f.Complaints)) { // in one order, so that the sum is the same to the last digit
		rest -= f.Complaints[named]
	}
	return max(rest, 0) / float64(max(n-len(f.Complaints), 1))
}
