package diagnosis

import "math"

// repairsOnly returns the expected cost, times the weight, of repairing
// without another test: the repairs in greedy order of probability of cure
// over cost, cut by handing over at the best place. first is what that begins with.
//
// published: the ratio order is optimal for one fault, independent costs and
// perfect repair (Kadane and Simon 1977, as cited in Ottosen and Jensen 2011, arXiv 1203.3502).
func (k *walk) repairsOnly(s *situation) (cost float64, first Action) {
	W := s.weight()
	cost, first = k.p.EscalateCost*W, Action{Kind: DoEscalate}
	now := situation{w: append(k.vector()[:0], s.w...), tests: s.tests, repairs: s.repairs, setup: s.setup}
	defer func() { k.release(&now) }()
	paid := 0.0
	var begin Action
	for step := 0; ; step++ {
		r, setup, sw := k.greedyRepair(&now)
		if r < 0 {
			return cost, first
		}
		if step == 0 {
			begin = Action{DoRepair, r}
		}
		next, price := k.failed(&now, r, setup)
		paid += (k.p.Repairs[r].Cost+sw)*now.weight() + price
		k.release(&now)
		now = next
		if total := paid + k.p.EscalateCost*now.weight(); total < cost {
			cost, first = total, begin
		}
	}
}

// greedyRepair returns the repair of the best ratio of cure to cost, −1 if none cures anything.
func (k *walk) greedyRepair(s *situation) (best int, setup uint32, sw float64) {
	best = -1
	W, bestRatio := s.weight(), 0.0
	for r := range k.p.Repairs {
		if s.tried(r) {
			continue
		}
		cure := k.fixes(s, r) / W
		if !(cure > 0) {
			continue
		}
		rep := &k.p.Repairs[r]
		to, minutes := k.switched(s.setup, rep.Mask, rep.Want)
		ratio := cure / (rep.Cost + minutes + (1-cure)*(rep.WrongPenalty+k.p.FalsePass*k.p.CallbackCost))
		if best < 0 || ratio > bestRatio {
			best, bestRatio, setup, sw = r, ratio, to, minutes
		}
	}
	return best, setup, sw
}

// oneMore returns the least expected cost, times the weight, of one test and
// then repairing, and that test.
func (k *walk) oneMore(s *situation) (cost float64, test int) {
	cost, test = math.Inf(1), -1
	for t := range k.p.Tests {
		if k.tested(s, t) {
			continue
		}
		setup, sw := k.switched(s.setup, k.p.Tests[t].Mask, k.p.Tests[t].Want)
		c := (k.p.Tests[t].Cost + sw) * s.weight()
		for o := range k.p.Tests[t].Outcomes {
			next := k.after(s, t, o, setup)
			if next.weight() > 0 {
				after, _ := k.repairsOnly(&next)
				c += after
			}
			k.release(&next)
		}
		if c < cost {
			cost, test = c, t
		}
	}
	return cost, test
}

// mostInformative returns the test with the most information about the repair
// class per minute, −1 if none gives more than the least worth having.
func (k *walk) mostInformative(s *situation, class []int, classes int) int {
	best, bestRate := -1, 0.0
	W := s.weight()
	for t := range k.p.Tests {
		if k.tested(s, t) {
			continue
		}
		_, sw := k.switched(s.setup, k.p.Tests[t].Mask, k.p.Tests[t].Want)
		gain := k.information(s, t, class, classes) / W
		// A free test is worth any information; a second stands for no time at all.
		rate := gain / math.Max(k.p.Tests[t].Cost+sw, 1.0/60)
		if gain > leastProblemGain && rate > bestRate {
			best, bestRate = t, rate
		}
	}
	return best
}

// leastProblemGain is 1e-4 bit in nat: less is rounding.
const leastProblemGain = 1e-4 * math.Ln2

// information returns the mutual information of class and outcome, times the weight, in nat.
func (k *walk) information(s *situation, t int, class []int, classes int) float64 {
	outcomes := k.p.Tests[t].Outcomes
	joint := make([]float64, classes*outcomes)
	prior := make([]float64, classes)
	for h, w := range s.w {
		prior[class[h]] += w
		for o, p := range k.p.Tests[t].P[h] {
			joint[class[h]*outcomes+o] += w * p
		}
	}
	sum := xlogx(s.weight())
	for _, p := range prior {
		sum -= xlogx(p)
	}
	for o := range outcomes {
		total := 0.0
		for c := range classes {
			total += joint[c*outcomes+o]
			sum += xlogx(joint[c*outcomes+o])
		}
		sum -= xlogx(total)
	}
	return sum
}

// classes returns the class of each hypothesis, the repair most likely to fix
// it (the cheaper on ties), and the number of classes. Without a repair it is a
// class of its own together with its like.
func (p *Problem) classes() (class []int, n int) {
	none := len(p.Repairs)
	class = make([]int, len(p.Hypotheses))
	for h := range class {
		class[h] = none
		for r, rep := range p.Repairs {
			c := class[h]
			switch {
			case rep.Fix[h] == 0:
			case c == none, rep.Fix[h] > p.Repairs[c].Fix[h],
				rep.Fix[h] == p.Repairs[c].Fix[h] && rep.Cost < p.Repairs[c].Cost:
				class[h] = r
			}
		}
	}
	return class, none + 1
}
