package diagnosis

import (
	"math"
	"math/rand/v2"
	"testing"
	"time"

	"rung/internal/fault"
)

// The tests of this file hold what is learned against derivations of its own and
// against made-up shops. Random numbers have the seeds named.

// drawn returns a number of classes drawn with the probabilities p.
func drawn(r *rand.Rand, p []float64) int {
	u := r.Float64()
	for i, q := range p {
		if u -= q; u < 0 {
			return i
		}
	}
	return len(p) - 1
}

// The strength of the catalogue is the number of causes below a hundred
// closures, and above them that under which the closures, told call by call, are likeliest. Seed 7, 1.
func TestStrengthIsTheLikeliest(t *testing.T) {
	list := fits(t)
	total := 0.0
	for _, f := range list {
		total += f.Weight
	}
	few := Experience{Closures: map[string]float64{list[0].ID: 99}}
	if got := few.Strength(list); got != float64(len(list)) {
		t.Errorf("with 99 closures the catalogue stands for %v", got)
	}
	r := rand.New(rand.NewPCG(7, 1))
	for range 20 {
		var calls []int
		x := Experience{Closures: map[string]float64{}}
		scatter := 2 * r.Float64()
		p := make([]float64, len(list))
		sum := 0.0
		for i, f := range list {
			p[i] = f.Weight * math.Exp(scatter*r.NormFloat64())
			sum += p[i]
		}
		for i := range p {
			p[i] /= sum
		}
		for range 100 + r.IntN(400) {
			h := drawn(r, p)
			calls = append(calls, h)
			x.Closures[list[h].ID]++
		}
		best, at := math.Inf(-1), 0.0
		for _, alpha := range []float64{10, 20, 40, 80, 160, 320, 640, 1280} {
			// The chance of each call after those before it.
			seen, log := map[int]float64{}, 0.0
			for n, h := range calls {
				log += math.Log((alpha*list[h].Weight/total + seen[h]) / (alpha + float64(n)))
				seen[h]++
			}
			if log > best {
				best, at = log, alpha
			}
			if got := x.evidence(list, alpha); math.Abs(got-log) > 1e-6*math.Abs(log) {
				t.Errorf("α %v: the log probability of %d calls is %v, want %v", alpha, len(calls), got, log)
			}
		}
		if got := x.Strength(list); got != at {
			t.Errorf("after %d calls the catalogue stands for %v, want %v", len(calls), got, at)
		}
	}
}

// After four hundred calls the chosen strength leaves the shop's true shares
// nearer than the fixed one where the shop is far from the catalogue, and no
// worse than a fifth where it is near. Seed 7, 2.
func TestStrengthServesTheShop(t *testing.T) {
	list := fits(t)
	r := rand.New(rand.NewPCG(7, 2))
	for _, scatter := range []float64{0.2, 0.8, 1.6} {
		chosen, fixed := 0.0, 0.0
		for range 40 {
			p, sum, total := make([]float64, len(list)), 0.0, 0.0
			for i, f := range list {
				p[i] = f.Weight * math.Exp(scatter*r.NormFloat64())
				sum += p[i]
				total += f.Weight
			}
			x := Experience{Closures: map[string]float64{}}
			for range 400 {
				u, h := r.Float64()*sum, 0
				for ; h < len(p)-1 && u > p[h]; h++ {
					u -= p[h]
				}
				x.Closures[list[h].ID]++
			}
			got := x.Learned(list)
			for i, f := range list {
				truth := p[i] / sum
				plain := (float64(len(list))*f.Weight/total + x.Closures[f.ID]) / float64(len(list)+400)
				chosen += truth * math.Log(truth/(got[f.ID]/total)) / 40
				fixed += truth * math.Log(truth/plain) / 40
			}
		}
		t.Logf("scatter %.1f: %.4f nat from the truth with the strength chosen, %.4f with that of few calls", scatter, chosen, fixed)
		if chosen > 1.2*fixed || scatter == 0.2 && chosen >= fixed {
			t.Errorf("scatter %.1f: %.4f nat from the truth with the strength chosen, %.4f with that of few calls", scatter, chosen, fixed)
		}
	}
}

// published: NIST/SEMATECH e-Handbook, section 8.1.6.2: the hazard of Weibull
// worked out here at both ages, with a scale of its own.
func TestHazardRatio(t *testing.T) {
	hazard := func(age, shape float64) float64 {
		const scale = 17.0
		return shape / scale * math.Pow(age/scale, shape-1)
	}
	for _, shape := range []float64{1, 1.5, 2, 3} {
		for age := 0.0; age <= 40; age += 0.5 {
			want := math.Min(2, math.Max(0.5, hazard(math.Max(age, 1), shape)/hazard(ReferenceAge, shape)))
			if got := HazardRatio(age, shape); math.Abs(got-want) > 1e-12 {
				t.Errorf("at %v years with shape %v: %v, want %v", age, shape, got, want)
			}
		}
	}
	if HazardRatio(math.NaN(), 2) != 1 || HazardRatio(10, 2) != 1 {
		t.Error("an age not known, or that of reference, moves a weight")
	}
}

// agedShop counts the closures of a shop whose machines are of every age from 1
// to 25 years alike and whose families fail with the given shapes.
func agedShop(r *rand.Rand, families []fault.Family, shapes []float64, calls int) map[string]map[int]float64 {
	counts := map[string]map[int]float64{}
	for _, f := range families {
		counts[f.ID] = map[int]float64{}
	}
	p := make([]float64, len(families))
	for range calls {
		age, sum := 1+r.IntN(25), 0.0
		for c := range p {
			p[c] = math.Pow(float64(age)/ReferenceAge, shapes[c]-1) * float64(1+c%3)
			sum += p[c]
		}
		for c := range p {
			p[c] /= sum
		}
		counts[families[drawn(r, p)].ID][age]++
	}
	return counts
}

// Without closures the shapes are those of the catalogue, with few near them, with
// very many those of the shop, but for what all have in common, which no call can tell. Seed 7, 3.
func TestShapesComeFromTheShop(t *testing.T) {
	c, err := fault.Load()
	if err != nil {
		t.Fatal(err)
	}
	families := c.Families
	truth := make([]float64, len(families))
	for i := range truth {
		truth[i] = []float64{1, 2.5, 1.5}[i%3]
	}
	r := rand.New(rand.NewPCG(7, 3))
	off := func(calls int) (most float64) {
		got := Shapes(families, agedShop(r, families, truth, calls))
		common := 0.0
		for i, f := range families {
			common += (got[f.ID].Now - truth[i]) / float64(len(families))
		}
		for i, f := range families {
			most = math.Max(most, math.Abs(got[f.ID].Now-truth[i]-common))
		}
		return most
	}
	for _, f := range families {
		if s := Shapes(families, nil)[f.ID]; s.Now != f.Shape || s.Own != 0 || s.Begin != f.Shape {
			t.Errorf("%s without closures: %+v, want %v", f.ID, s, f.Shape)
		}
	}
	few, many := off(20), off(20_000)
	t.Logf("shapes are off by %.2f at most after 20 calls, by %.2f after 20000", few, many)
	if many > 0.15 || few < many {
		t.Errorf("shapes are off by %.2f at most after 20 calls, by %.2f after 20000", few, many)
	}
	one := Shapes(families, map[string]map[int]float64{"capacitors": {20: 1}})["capacitors"]
	if d := one.Now - one.Begin; d < 0 || d > 0.2 || one.Own > 0.3 {
		t.Errorf("one closure moves a shape by %v, weighing %v", d, one.Own)
	}
}

// A season is flat until fifty closures, finds a wave that is there, finds none
// that is not, and never more than doubles. Seed 7, 4.
func TestSeasonsComeFromTheShop(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 4))
	shop := func(calls int, swing float64) Season {
		counts := map[string]map[time.Month]float64{"cooling": {}, "control": {}}
		for range calls {
			m := time.Month(1 + r.IntN(12))
			p := 1 / (1 + math.Exp(swing*math.Cos(2*math.Pi*float64(m-7)/12)))
			g := "cooling"
			if r.Float64() < p {
				g = "control"
			}
			counts[g][m]++
		}
		return Seasons(counts)
	}
	ratio := func(s Season, m time.Month) float64 { return s.Factor("cooling", m) / s.Factor("control", m) }
	if s := shop(49, 2); ratio(s, time.July) != 1 || s.Closures != 49 {
		t.Errorf("49 closures tell a season of %v", ratio(s, time.July))
	}
	if s := shop(20_000, 0.6); math.Abs(math.Log(ratio(s, time.July))-0.6) > 0.1 || ratio(s, time.January) > 0.7 {
		t.Errorf("a wave of 0.6 is found as %v in July, %v in January", math.Log(ratio(s, time.July)), math.Log(ratio(s, time.January)))
	}
	if s := shop(2000, 0); math.Abs(math.Log(ratio(s, time.July))) > 0.15 {
		t.Errorf("without a wave July has %v", ratio(s, time.July))
	}
	steep := shop(20_000, 6)
	for m := time.January; m <= time.December; m++ {
		for _, g := range []string{"cooling", "control", "no such group"} {
			if f := steep.Factor(g, m); f < 1/FarthestFactor || f > FarthestFactor {
				t.Errorf("%s in %s has the factor %v", g, m, f)
			}
		}
	}
}

// The mean of a rate lies between what it begins with and what was counted, and
// is that of a Beta distribution integrated by hand.
func TestRateIsTheMeanOfItsBeta(t *testing.T) {
	const steps = 200_000
	for _, c := range []struct{ begin, worth, n, k float64 }{{0.04, 100, 0, 0}, {0.04, 100, 30, 6}, {0.5, 4, 7, 7}, {0.02, 100, 400, 0}} {
		top, bottom := 0.0, 0.0
		for i := range steps {
			u := (float64(i) + 0.5) / steps
			w := math.Exp((c.begin*c.worth+c.k-1)*math.Log(u) + ((1-c.begin)*c.worth+c.n-c.k-1)*math.Log1p(-u))
			top, bottom = top+u*w, bottom+w
		}
		// tolerance: of the sum, whose end is steep
		if got := (Rate{c.begin, c.worth}).After(c.n, c.k); math.Abs(got-top/bottom) > 1e-4 {
			t.Errorf("%+v: %v, want %v", c, got, top/bottom)
		}
	}
}

// A pace is the mean of the normal distribution that the timings leave, worked
// out here over a grid.
func TestPaceIsTheMeanOfWhatTheTimingsLeave(t *testing.T) {
	own := Sum{}
	for _, x := range []float64{0.3, 0.5, 0.1, 0.7} {
		own = own.Add(x)
	}
	top, bottom := 0.0, 0.0
	variance := Paces.within([]Sum{own})
	for m := -4.0; m <= 4; m += 1e-4 {
		l := -m * m / (2 * Paces.Between * Paces.Between)
		for _, x := range []float64{0.3, 0.5, 0.1, 0.7} {
			l -= (x - m) * (x - m) / (2 * variance)
		}
		top, bottom = top+m*math.Exp(l), bottom+math.Exp(l)
	}
	mean, weight := Paces.After(own, []Sum{own})
	if math.Abs(mean-top/bottom) > 1e-6 || weight <= 0 || weight >= 1 {
		t.Errorf("the mean is %v with weight %v, want %v", mean, weight, top/bottom)
	}
	if mean, weight := Paces.After(Sum{}, nil); mean != 0 || weight != 0 || Paces.Factor(0) != 1 {
		t.Errorf("without timings the mean is %v, its weight %v", mean, weight)
	}
}

// What was learned reaches the engine: minutes, wrong readings, pairs, shares and proofs.
func TestWhatWasLearnedReachesTheEngine(t *testing.T) {
	plain := freshHouse(t, hot, "not-cooling")
	sit := plain.w.sit
	pair := sit.Faults.Pairs[0]
	sit.Experience = Experience{Minutes: map[string]float64{"cap-bench": 17}, RepairMinutes: map[string]float64{"replace-run-capacitor": 71},
		Wrong: map[string]float64{"cap-bench": 0.21}, Pairs: map[string]float64{pair.ID: pair.Rate / 2}, Sound: 0.09, Unlisted: 0.12, FalsePass: 0.07}
	s, err := Open(sit, DefaultSettings())
	if err != nil {
		t.Fatal(err)
	}
	if m := s.checks[s.checkAt["cap-bench"]].Minutes; m != 17 {
		t.Errorf("the check takes %v minutes", m)
	}
	if m := s.repairs[s.repair["replace-run-capacitor"]].Minutes; m != 71 {
		t.Errorf("the repair takes %v minutes", m)
	}
	for i := range s.points {
		want := plain.epsilon(&plain.points[i], able)
		if s.points[i].Check == "cap-bench" {
			want = 0.21
		}
		if got := s.epsilon(&s.points[i], able); got != want {
			t.Errorf("%v is wrong with %v, want %v", s.points[i].Ref, got, want)
		}
	}
	ratio := func(s *System, id, to string) float64 {
		p := map[string]float64{}
		for _, h := range s.hyps {
			p[h.ID] = h.prior
		}
		return p[id] / p[to]
	}
	if got, want := ratio(s, pair.ID, pair.First), ratio(plain, pair.ID, pair.First)/2; math.Abs(got-want) > 1e-12 {
		t.Errorf("the pair has %v of its first fault, want %v", got, want)
	}
	unlisted := func(s *System) (sum float64) {
		for _, x := range s.subs {
			sum += x.Prior
		}
		return sum / s.hyps[s.byFault[pair.First]].prior
	}
	if got, want := unlisted(s)/unlisted(plain), 0.12/UnlistedShare; math.Abs(got-want) > 0.02*want { // a pair has half its prior less
		t.Errorf("unlisted causes have %v times the prior, want %v", got, want)
	}
	if got, want := ratio(s, "healthy", pair.First)/ratio(plain, "healthy", pair.First), 0.09/SoundShare; math.Abs(got-want) > 1e-9 {
		t.Errorf("the sound system has %v times the prior, want %v", got, want)
	}
	if s.set.FalsePass != 0.07 {
		t.Errorf("proofs pass falsely with %v", s.set.FalsePass)
	}
	other, err := s.For("weak-cooling")
	if err != nil || other.set.FalsePass != 0.07 || other.checks[other.checkAt["cap-bench"]].Minutes != 17 {
		t.Errorf("with another complaint it is forgotten: %v", err)
	}
}

// BenchmarkShapes has a budget of 50 ms: it is worked out anew each minute that
// somebody asks.
func BenchmarkShapes(b *testing.B) {
	c, err := fault.Load()
	if err != nil {
		b.Fatal(err)
	}
	shapes := make([]float64, len(c.Families))
	for i := range shapes {
		shapes[i] = 1.5
	}
	counts := agedShop(rand.New(rand.NewPCG(7, 5)), c.Families, shapes, 2000)
	for b.Loop() {
		Shapes(c.Families, counts)
	}
}
