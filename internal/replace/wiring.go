package replace

import "slices"

// EndKind is what a conductor is landed on at the equipment.
type EndKind string

// The kinds of end; empty is not known.
const (
	UnknownEnd EndKind = ""
	PowerEnd   EndKind = "power"  // R of a transformer
	CommonEnd  EndKind = "common" // C of a transformer
	LoadEnd    EndKind = "load"
	SignalEnd  EndKind = "signal"     // feeds a fault lamp
	FreeEnd    EndKind = "free"       // landed nowhere
	RelayEnd   EndKind = "relay-coil" // coil of an isolating relay that the plan puts in
)

// End is where a conductor is landed at the equipment.
type End struct {
	Kind   EndKind
	Source SourceID // of a PowerEnd or CommonEnd
	Load   LoadID   // of a LoadEnd
}

func (e End) String() string {
	switch e.Kind {
	case PowerEnd, CommonEnd:
		return string(e.Kind) + " of " + string(e.Source)
	case LoadEnd:
		return string(e.Load)
	}
	return string(e.Kind)
}

// path is a conductor as it connects: a terminal with an end.
type path struct {
	conductor string
	mark      string // of the terminal; "" hangs free
	end       End
}

// relay is an isolating relay at the equipment: its coil lies between the end
// of a conductor and the common of a transformer, its contact joins the power
// of another with a load.
type relay struct {
	coil    SourceID
	contact SourceID
	load    LoadID
}

// wiring is a base with its conductors and what is added at the equipment.
type wiring struct {
	sys     System
	base    Base
	set     Settings
	linkIn  bool
	jumpers [][2]string // at the base
	paths   []path
	joined  [][2]LoadID // loads joined at the equipment
	relay   *relay
	plugIn  bool // a transformer of its own feeds the electronics
}

// plugSource is the transformer that is plugged in for the electronics.
const plugSource SourceID = "plug-in"

// node is a point of the control wiring.
type node struct{ kind, id string }

// nodes gathers points that are joined.
type nodes map[node]node

func (n nodes) root(a node) node {
	for {
		b, ok := n[a]
		if !ok || b == a {
			return a
		}
		a = b
	}
}

func (n nodes) join(a, b node) { n[n.root(a)] = n.root(b) }

func (n nodes) joined(a, b node) bool { return n.root(a) == n.root(b) }

func terminalNode(mark string) node { return node{"terminal", mark} }
func powerNode(s SourceID) node     { return node{"power", string(s)} }
func commonNode(s SourceID) node    { return node{"common", string(s)} }
func loadNode(l LoadID) node        { return node{"load", string(l)} }

func (e End) node() (node, bool) {
	switch e.Kind {
	case PowerEnd:
		return powerNode(e.Source), true
	case CommonEnd:
		return commonNode(e.Source), true
	case LoadEnd:
		return loadNode(e.Load), true
	case RelayEnd:
		return node{"coil", ""}, true
	}
	return node{}, false
}

// Outcome is what a call does.
type Outcome struct {
	Call    Call
	Joined  []string      // terminals joined to power, as marked
	Served  []LoadID      // loads between power and common of their own transformer
	Crossed []LoadID      // loads on the power of another transformer
	Tied    [][2]SourceID // transformers with their powers joined
	Shorted []SourceID    // power joined to a common
	Powered bool          // the electronics of the base live on power and common
}

// simulate closes the contacts of a call and follows the conductors. Conductors
// have no resistance here; a joint is a joint.
func (w *wiring) simulate(c Call) Outcome {
	n := nodes{}
	out := Outcome{Call: c}
	w.connect(n)
	cooling, heating := w.base.closes(w.set, c)
	for _, side := range []struct {
		heat bool
		list []Terminal
	}{{false, cooling}, {true, heating}} {
		from, ok := w.base.power(side.heat)
		for _, t := range side.list {
			if ok && t.Mark != from.Mark {
				n.join(terminalNode(from.Mark), terminalNode(t.Mark))
				out.Joined = append(out.Joined, t.Mark)
			}
		}
	}
	if r := w.relay; r != nil && n.joined(node{"coil", ""}, powerNode(r.coil)) {
		n.join(powerNode(r.contact), loadNode(r.load))
	}
	w.observe(n, &out)
	return out
}

// connect joins what is joined without any call.
func (w *wiring) connect(n nodes) {
	for _, p := range w.paths {
		if end, ok := p.end.node(); ok && p.mark != "" {
			n.join(terminalNode(p.mark), end)
		}
	}
	for _, j := range w.jumpers {
		n.join(terminalNode(j[0]), terminalNode(j[1]))
	}
	for _, j := range w.joined {
		n.join(loadNode(j[0]), loadNode(j[1]))
	}
	if w.linkIn || w.base.Link == FixedLink {
		c, _ := w.base.power(false)
		h, _ := w.base.power(true)
		n.join(terminalNode(c.Mark), terminalNode(h.Mark))
	}
	if w.plugIn {
		n.join(terminalNode(w.supplyMark()), powerNode(plugSource))
		if c, ok := w.base.with(Common); ok {
			n.join(terminalNode(c.Mark), commonNode(plugSource))
		}
	}
}

// supplyMark is the power terminal from which the electronics live.
func (w *wiring) supplyMark() string {
	t, _ := w.base.power(w.base.SupplyFrom == PowerHeat)
	return t.Mark
}

func (w *wiring) observe(n nodes, out *Outcome) {
	ids := []SourceID{}
	for _, s := range w.sys.Sources {
		ids = append(ids, s.ID)
	}
	if w.plugIn {
		ids = append(ids, plugSource)
	}
	for i, a := range ids {
		for _, b := range ids[i+1:] {
			if n.joined(powerNode(a), powerNode(b)) {
				out.Tied = append(out.Tied, [2]SourceID{a, b})
			}
		}
		if slices.ContainsFunc(ids, func(b SourceID) bool { return n.joined(powerNode(a), commonNode(b)) }) {
			out.Shorted = append(out.Shorted, a)
		}
	}
	for _, l := range w.sys.Loads {
		hot := loadNode(l.ID)
		if n.joined(hot, powerNode(l.Source)) {
			out.Served = append(out.Served, l.ID)
			continue
		}
		if slices.ContainsFunc(ids, func(id SourceID) bool { return n.joined(hot, powerNode(id)) }) {
			out.Crossed = append(out.Crossed, l.ID)
		}
	}
	if c, ok := w.base.with(Common); ok {
		supply := terminalNode(w.supplyMark())
		out.Powered = slices.ContainsFunc(ids, func(id SourceID) bool {
			return n.joined(supply, powerNode(id)) && n.joined(terminalNode(c.Mark), commonNode(id))
		})
	}
}

// sourceAt returns the transformer whose power reaches a terminal at rest.
func (w *wiring) sourceAt(mark string) (SourceID, bool) {
	n := nodes{}
	w.connect(n)
	for _, s := range w.sys.Sources {
		if n.joined(terminalNode(mark), powerNode(s.ID)) {
			return s.ID, true
		}
	}
	return "", false
}

// flaw is something that a plan must not have.
type flaw struct {
	call Call
	what string
	load LoadID
}

// flaws runs every call of the system and holds the outcome against what the
// system needs. carried says which loads a conductor reaches or should reach.
// A load without current on a call is no flaw if the plan says that it gives it up.
func (w *wiring) flaws(carried map[LoadID]bool, lost func(Call, LoadID) bool) []flaw {
	var list []flaw
	for _, c := range w.sys.Calls() {
		out := w.simulate(c)
		must, may := w.sys.Expected(c)
		for _, id := range must {
			if carried[id] && !lost(c, id) && !slices.Contains(out.Served, id) {
				list = append(list, flaw{c, "not-served", id})
			}
		}
		for _, id := range out.Served {
			if !slices.Contains(must, id) && !slices.Contains(may, id) {
				list = append(list, flaw{c, "should-be-off", id})
			}
		}
		for _, id := range out.Crossed {
			list = append(list, flaw{c, "crossed", id})
		}
		if len(out.Tied) > 0 {
			list = append(list, flaw{c, "tied", ""})
		}
		if len(out.Shorted) > 0 {
			list = append(list, flaw{c, "shorted", ""})
		}
	}
	return list
}
