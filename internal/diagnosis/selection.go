package diagnosis

import (
	"math"
	"slices"
	"sort"
)

// selection compares what could be done next.
type selection struct {
	e       *Engine
	in      *inference
	c       Case
	gate    ChargeGate
	setup   []bool // of the states, now
	rows    []row
	entries []entry
	classP  []float64
	entropy float64 // of the repair class, nat
	done    map[int]bool
	before  map[int]int // the last evidence of points that were read before the last repair and not since
	offers  []offer
	rough   []weighted   // a few particles of each entry, see roughly
	enough  bool         // one more check is not worth its minutes for the repair alone
	confirm []Suggestion // checks that could refute an invasive repair, the best first

	// Scratch.
	shown                 []showing
	missing, byClass      []float64
	samples, soundSamples []sample
	sound                 soundMasses
}

// offer is a check that may be done now, with its worth.
type offer struct {
	check  int
	points []int
	demand Demand
	setup  float64 // minutes to set up
	steps  int     // setup states to switch
	lead   *cells  // of the point that says most
	joint  *cells  // of all points together; lead if there is one point only
	gain   float64 // nat about the repair class
	rate   float64 // nat per minute, setting up counted
	with   []int   // leading points of other offers that share the setup, best first
	order  string  // breaks the last tie
}

// minutes returns what a check costs without its setting up: its time, and in
// an open live panel the price of the danger.
func (o *offer) minutes(e *Engine) float64 {
	ck := &e.checks[o.check]
	if ck.Safety == S3 {
		return ck.Minutes + e.set.LiveMinutes
	}
	return ck.Minutes
}

// selectionOf prepares the comparison after a belief.
func (in *inference) selectionOf(b *belief) *selection {
	s := &selection{e: in.e, c: in.c, setup: in.e.setupOf(in.c), rows: in.rows, entries: in.e.entriesOf(b), in: in, done: map[int]bool{}, before: map[int]int{}}
	s.weighClasses()
	for _, v := range in.ev {
		if v.epoch == in.c.Epoch() {
			s.done[v.point] = true
		}
	}
	for k, v := range in.ev {
		if j, read := s.before[v.point]; !s.done[v.point] && (!read || in.ev[j].epoch < v.epoch) {
			s.before[v.point] = k
		}
	}
	for _, r := range in.c.Refused {
		if p, known := in.e.pointAt[r.Ref]; known && r.Epoch == in.c.Epoch() {
			s.done[p] = true
		}
	}
	return s
}

// weighClasses adds up the entries by repair class.
func (s *selection) weighClasses() {
	s.classP, s.entropy = make([]float64, len(s.e.classes)+1), 0
	for _, en := range s.entries {
		s.classP[en.class] += en.p
	}
	for _, p := range s.classP {
		s.entropy -= xlogx(p)
	}
}

func xlogx(p float64) float64 {
	if p <= 0 {
		return 0
	}
	return p * math.Log(p)
}

// setupOf returns which states hold.
func (e *Engine) setupOf(c Case) []bool {
	on := make([]bool, len(e.states))
	for _, id := range c.Setup {
		if i, known := e.stateAt[id]; known {
			on[i] = true
		}
	}
	return on
}

// switching returns the steps from the present setup to the needs.
func (e *Engine) switching(now []bool, needs []Need) (steps []SetupStep, minutes float64) {
	for _, n := range needs {
		i := e.stateAt[n.State]
		if now[i] == n.On {
			continue
		}
		m := e.states[i].Off
		if n.On {
			m = e.states[i].On
		}
		steps = append(steps, SetupStep{State: n.State, On: n.On, Minutes: m})
		minutes += m
	}
	return steps, minutes
}

// most intervals of a point read alone, and of points read together.
const (
	intervalsAlone   = 10
	intervalsTwo     = 6
	intervalsMore    = 4
	mostPointsJoined = 3
)

// rank fills s.offers with what may be done, the best first. All purchases are
// weighed roughly, from few particles and point by point; those that come near the
// best are then weighed in full.
func (s *selection) rank() {
	var all []purchase
	for c := range s.e.checks {
		if !s.e.mayCheck(c, s.c) {
			continue
		}
		for d := range s.e.demands {
			for _, points := range s.purchases(c, d) {
				all = append(all, s.roughly(c, d, points))
			}
		}
	}
	sort.SliceStable(all, func(i, j int) bool { return all[i].most > all[j].most })
	for i, p := range all {
		if i < weighedInFull || p.most >= all[0].most*nearly {
			s.add(p.check, p.demand, p.points)
		} else {
			s.addRough(p)
		}
	}
	s.bundle()
	s.sort()
	s.preferLarger()
}

// weighedInFull is how many purchases are weighed in full whatever they promise,
// roughParticles from how many particles of each entry the rest is judged.
// practice: on simulated calls the first three were those of weighing all in full.
const (
	weighedInFull  = 12
	roughParticles = 3
)

// purchase is a check at a demand, judged roughly.
type purchase struct {
	check, demand int
	points        []int
	lead          *cells  // of the point that says most
	gain          float64 // of that point
	most          float64 // nat per minute, if the points told nothing twice
}

// roughly judges a purchase from a few particles of each entry.
func (s *selection) roughly(check, demand int, points []int) purchase {
	if s.rough == nil {
		s.rough = make([]weighted, len(s.entries))
		for i := range s.entries {
			s.rough[i] = heaviest(s.entries[i].w, roughParticles)
			for k, j := range s.rough[i].n {
				s.rough[i].n[k] = s.entries[i].n[j]
			}
		}
	}
	p := purchase{check: check, demand: demand, points: points, gain: -1}
	gains := make([]float64, len(points))
	for i, point := range points {
		c := s.cellsOf(point, intervalsMore, s.rough, false)
		gains[i] = s.information(c.mass)
		if gains[i] > p.gain {
			p.gain, p.lead = gains[i], c
		}
	}
	sort.Sort(sort.Reverse(sort.Float64Slice(gains)))
	sum := 0.0
	for _, g := range gains[:min(mostPointsJoined, len(gains))] {
		sum += g
	}
	_, minutes := s.e.switching(s.setup, s.e.checks[check].Needs)
	o := offer{check: check}
	p.most = math.Min(sum, s.entropy) / (o.minutes(s.e) + minutes)
	return p
}

// addRough offers what was judged roughly, by its leading point alone.
func (s *selection) addRough(p purchase) {
	o := s.offerOf(p.check, p.demand, p.points)
	o.lead, o.joint, o.gain = p.lead, p.lead, p.gain
	s.offerIf(o)
}

// purchases returns the points of one check at one demand that are not read
// yet, as they are bought: all together, or one by one.
func (s *selection) purchases(check, demand int) [][]int {
	var points []int
	for _, p := range s.e.demands[demand].points {
		if s.e.points[p].Check == s.e.checks[check].ID && !s.done[p] {
			points = append(points, p)
		}
	}
	if len(points) == 0 {
		return nil
	}
	if !s.e.checks[check].PerPoint {
		return [][]int{points}
	}
	out := make([][]int, len(points))
	for i := range points {
		out[i] = points[i : i+1 : i+1]
	}
	return out
}

// add scores one offer.
func (s *selection) add(check, demand int, points []int) {
	o := s.offerOf(check, demand, points)
	o.lead, o.joint, o.gain = s.readTogether(points)
	s.offerIf(o)
}

// offerOf returns the offer of a purchase without its worth.
func (s *selection) offerOf(check, demand int, points []int) offer {
	o := offer{check: check, points: points, demand: s.e.demands[demand].demand}
	ck := &s.e.checks[check]
	steps, minutes := s.e.switching(s.setup, ck.Needs)
	o.setup, o.steps = minutes, len(steps)
	first := s.e.points[points[0]].Ref
	o.order = ck.ID + " " + first.Point + " " + string(o.demand)
	return o
}

// offerIf adds an offer that tells something and can be read.
func (s *selection) offerIf(o offer) {
	if o.gain < s.e.set.LeastGain || s.unreadable(o.lead) > mostUnreadable {
		return
	}
	o.rate = o.gain / (o.minutes(s.e) + o.setup)
	s.offers = append(s.offers, o)
}

// mostUnreadable is the probability of showing nothing from which a check is
// not proposed.
// practice: nobody pumps down a compressor that stands to learn that it stands.
const mostUnreadable = 0.5

// unreadable returns the probability that a point shows nothing.
func (s *selection) unreadable(c *cells) float64 {
	sum := 0.0
	for i, en := range s.entries {
		sum += en.p * c.mass[i][c.n-1]
	}
	return sum
}

// readTogether returns the cells of the point that says most, the cells of the
// three that say most together, and the information of the latter.
func (s *selection) readTogether(points []int) (lead, joint *cells, gain float64) {
	most := intervalsAlone
	switch {
	case len(points) == 2:
		most = intervalsTwo
	case len(points) > 2:
		most = intervalsMore
	}
	type single struct {
		c    *cells
		gain float64
	}
	singles := make([]single, len(points))
	for i, p := range points {
		c := s.cellsFor(p, most)
		singles[i] = single{c, s.information(c.mass)}
	}
	sort.SliceStable(singles, func(i, j int) bool { return singles[i].gain > singles[j].gain })
	lead, joint, gain = singles[0].c, singles[0].c, singles[0].gain
	if len(points) == 1 {
		return lead, joint, gain
	}
	rest := singles[1:min(len(singles), mostPointsJoined)]
	for i, next := range rest {
		joint = s.join(joint, next.c, i < len(rest)-1)
	}
	return lead, joint, s.information(joint.mass)
}

// join returns the cells of two points read on the same particles; with the
// masses by particle only if more is to be joined to them.
func (s *selection) join(a, b *cells, more bool) *cells {
	out := &cells{point: a.point, n: a.n * b.n, mass: make([][]float64, len(s.entries)), part: make([][]float64, len(s.entries))}
	masses := make([]float64, len(s.entries)*out.n)
	for i, en := range s.entries {
		mass := masses[i*out.n : (i+1)*out.n]
		out.mass[i] = mass
		var part []float64
		if more {
			part = make([]float64, len(en.w)*out.n)
			out.part[i] = part
		}
		for n, w := range en.w {
			pb := b.part[i][n*b.n : (n+1)*b.n]
			for x, ma := range a.part[i][n*a.n : (n+1)*a.n] {
				at := mass[x*b.n : (x+1)*b.n]
				for y, mb := range pb {
					at[y] += w * ma * mb
				}
				if more {
					to := part[n*out.n+x*b.n:][:b.n]
					for y, mb := range pb {
						to[y] = ma * mb
					}
				}
			}
		}
	}
	return out
}

// information returns the mutual information of the repair class and an
// outcome with the given masses by entry, in nat.
func (s *selection) information(mass [][]float64) float64 {
	n := len(mass[0])
	s.byClass = slices.Grow(s.byClass[:0], (len(s.classP)+1)*n)[:(len(s.classP)+1)*n]
	clear(s.byClass)
	byClass, total := s.byClass[:len(s.classP)*n], s.byClass[len(s.classP)*n:]
	for i, en := range s.entries {
		at := byClass[en.class*n:]
		for o, m := range mass[i] {
			at[o] += en.p * m
			total[o] += en.p * m
		}
	}
	// I = H(C) + Σ P(c,o) ln P(c,o) − Σ P(o) ln P(o)
	sum := s.entropy
	for _, p := range byClass {
		sum += xlogx(p)
	}
	for _, p := range total {
		sum -= xlogx(p)
	}
	return math.Max(0, sum)
}

// bundle raises the rate of offers that are worth their setting up only
// together: those that need the same switching share it.
func (s *selection) bundle() {
	groups := map[string][]int{}
	var keys []string
	for i := range s.offers {
		steps, _ := s.e.switching(s.setup, s.e.checks[s.offers[i].check].Needs)
		if len(steps) == 0 {
			continue
		}
		key := stepsKey(steps)
		if groups[key] == nil {
			keys = append(keys, key)
		}
		groups[key] = append(groups[key], i)
	}
	m := s.newSampler()
	for _, key := range keys {
		if s.mayLead(groups[key]) {
			s.bundleGroup(groups[key], m)
		}
	}
}

// mayLead says whether offers behind one setup could together come near the
// best of all: as if each told what the others do not.
func (s *selection) mayLead(group []int) bool {
	best, gain, minutes := 0.0, 0.0, 0.0
	for i := range s.offers {
		best = math.Max(best, s.offers[i].rate)
	}
	sortBy(group, func(i int) float64 { return -s.offers[i].gain / s.offers[i].minutes(s.e) })
	for k, i := range group[:min(len(group), mostBundled)] {
		if k == 0 {
			minutes = s.offers[i].setup
		}
		gain += s.offers[i].gain
		minutes += s.offers[i].minutes(s.e)
	}
	return len(group) > 1 && gain/minutes > best/2
}

func stepsKey(steps []SetupStep) string {
	var names []string
	for _, st := range steps {
		name := st.State
		if !st.On {
			name = "not " + name
		}
		names = append(names, name)
	}
	sort.Strings(names)
	key := ""
	for _, n := range names {
		key += n + ";"
	}
	return key
}

// mostBundled is how many checks behind one setup are scored together, and
// bundleFrom how many are tried as the second and third.
const (
	mostBundled = 3
	bundleFrom  = 4
	// bundleGain is by how much a bundle must beat its first check alone, for its
	// information is an estimate from samples.
	bundleGain = 1.1
)

// bundleGroup adds to the best offer of a group the others while the
// information per minute of all together rises.
func (s *selection) bundleGroup(group []int, m *sampler) {
	e := s.e
	sortBy(group, func(i int) float64 { return -s.offers[i].gain / s.offers[i].minutes(e) })
	first := &s.offers[group[0]]
	points := append([]int(nil), first.points...)
	minutes, rate := first.setup+first.minutes(e), first.rate
	for len(first.with) < mostBundled-1 {
		best := -1
		for _, i := range group[1:min(len(group), bundleFrom+1)] {
			o := &s.offers[i]
			if o.demand != first.demand || contains(first.with, o.lead.point) {
				continue
			}
			gain := m.information(append(points[:len(points):len(points)], o.points...))
			if r := gain / (minutes + o.minutes(e)); r > bundleGain*rate {
				best, rate = i, r
			}
		}
		if best < 0 {
			return
		}
		minutes += s.offers[best].minutes(e)
		points = append(points, s.offers[best].points...)
		first.rate, first.with = rate, append(first.with, s.offers[best].lead.point)
	}
}

// sortBy sorts by a key, keeping the order of equals.
func sortBy(x []int, key func(int) float64) {
	sort.SliceStable(x, func(i, j int) bool { return key(x[i]) < key(x[j]) })
}

func contains(list []int, x int) bool {
	for _, v := range list {
		if v == x {
			return true
		}
	}
	return false
}

// tie is the ratio of rates within which the less invasive offer goes first.
const tie = 0.95

// sort puts the best offer first. Those within 5 % of the best rate are
// ordered by danger, setting up, minutes and id; then the next best, and so on.
func (s *selection) sort() {
	sort.SliceStable(s.offers, func(i, j int) bool {
		a, b := &s.offers[i], &s.offers[j]
		if a.rate != b.rate {
			return a.rate > b.rate
		}
		return s.milder(a, b)
	})
	for from := 0; from < len(s.offers); {
		to := from + 1
		for to < len(s.offers) && s.offers[to].rate >= tie*s.offers[from].rate {
			to++
		}
		tied := s.offers[from:to]
		sort.SliceStable(tied, func(i, j int) bool { return s.milder(&tied[i], &tied[j]) })
		from = to
	}
}

// A check that tells much more at nearly the rate of the best goes first: the
// best would only be the first piece of it.
const (
	nearly   = 0.6 // of the rate: practice
	muchMore = 1.3 // of the information: practice
)

// preferLarger puts first what tells most among the offers that come near the
// best rate and ask for no more setting up and no more danger.
func (s *selection) preferLarger() {
	best := 0
	for i := range s.offers {
		o, first := &s.offers[i], &s.offers[0]
		if o.rate >= nearly*first.rate && o.gain > muchMore*first.gain && o.gain > s.offers[best].gain &&
			o.steps <= first.steps && s.e.checks[o.check].Safety <= s.e.checks[first.check].Safety {
			best = i
		}
	}
	if best > 0 {
		s.toFront(best)
	}
}

// milder says whether a is less invasive than b, or cheaper, or first by id.
func (s *selection) milder(a, b *offer) bool {
	ca, cb := &s.e.checks[a.check], &s.e.checks[b.check]
	switch {
	case ca.Safety != cb.Safety:
		return ca.Safety < cb.Safety
	case a.steps != b.steps:
		return a.steps < b.steps
	case a.setup+ca.Minutes != b.setup+cb.Minutes:
		return a.setup+ca.Minutes < b.setup+cb.Minutes
	}
	return a.order < b.order
}
