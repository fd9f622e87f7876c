package diagnosis

// situation is where one stands in a Problem: what was tested and tried, what
// is switched, and how likely each hypothesis is.
type situation struct {
	// w holds the probability of each hypothesis together with everything seen
	// so far: not normalised, so that values of different outcomes add up.
	w       []float64
	tests   uint64 // mixed radix: 0 not done, o+1 outcome o
	repairs uint32 // bit set of those tried
	setup   uint32 // bit set of what is on
}

// situationKey identifies a situation within its problem.
func (s *situation) key() uint64 {
	return s.tests<<(mostProblemSetups+mostProblemRepairs) | uint64(s.repairs)<<mostProblemSetups | uint64(s.setup)
}

func (s *situation) weight() float64 {
	sum := 0.0
	for _, w := range s.w {
		sum += w
	}
	return sum
}

// walk moves through the situations of a problem.
type walk struct {
	p     *Problem
	place []uint64
	free  [][]float64 // weight vectors to use again
}

func newWalk(p *Problem) *walk {
	place, fits := p.radix()
	if !fits {
		panic("diagnosis: a problem too large for its search was not checked")
	}
	return &walk{p: p, place: place}
}

// start returns the situation before anything was done.
func (k *walk) start() *situation {
	s := &situation{w: make([]float64, len(k.p.Hypotheses))}
	for h, hyp := range k.p.Hypotheses {
		s.w[h] = hyp.Prior
	}
	for i, st := range k.p.Setup {
		s.setup |= uint32(st.Initial) << i
	}
	return s
}

func (k *walk) vector() []float64 {
	if n := len(k.free); n > 0 {
		v := k.free[n-1]
		k.free = k.free[:n-1]
		return v
	}
	return make([]float64, len(k.p.Hypotheses))
}

// release gives the weights of a situation back for use.
func (k *walk) release(s *situation) { k.free = append(k.free, s.w) }

func (k *walk) tested(s *situation, t int) bool {
	return s.tests/k.place[t]%uint64(k.p.Tests[t].Outcomes+1) != 0
}

func (s *situation) tried(r int) bool { return s.repairs>>r&1 == 1 }

// switched returns the setup after meeting what is required, and the cost.
func (k *walk) switched(setup, mask, want uint32) (uint32, float64) {
	cost := 0.0
	for i := range k.p.Setup {
		bit := uint32(1) << i
		switch {
		case mask&bit == 0 || setup&bit == want&bit:
		case want&bit != 0:
			cost += k.p.Setup[i].ToOn
		default:
			cost += k.p.Setup[i].ToOff
		}
	}
	return setup&^mask | want&mask, cost
}

// after returns the situation when test t came out as o, the setup being switched already.
func (k *walk) after(s *situation, t, o int, setup uint32) situation {
	next := situation{w: k.vector(), tests: s.tests + uint64(o+1)*k.place[t], repairs: s.repairs, setup: setup}
	for h, w := range s.w {
		next.w[h] = w * k.p.Tests[t].P[h][o]
	}
	return next
}

// failed returns the situation when repair r was seen to fail, and what the
// failures cost: the wrong part, and the callback where it passed unnoticed.
func (k *walk) failed(s *situation, r int, setup uint32) (next situation, price float64) {
	rep := &k.p.Repairs[r]
	next = situation{w: k.vector(), tests: s.tests, repairs: s.repairs | 1<<r, setup: setup}
	for h, w := range s.w {
		left := w * (1 - rep.Fix[h])
		price += left * (rep.WrongPenalty + k.p.FalsePass*k.p.CallbackCost)
		next.w[h] = left * (1 - k.p.FalsePass)
	}
	return next, price
}

// fixes returns the weight that repair r would cure.
func (k *walk) fixes(s *situation, r int) float64 {
	sum := 0.0
	for h, w := range s.w {
		sum += w * k.p.Repairs[r].Fix[h]
	}
	return sum
}
