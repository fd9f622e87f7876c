package trial

import (
	"math"
	"math/rand/v2"
	"reflect"
	"testing"

	"rung/internal/diagnosis"
	"rung/internal/fault"
)

// played plays a few calls.
func played(t *testing.T, o Options) (*Plan, []Played) {
	t.Helper()
	o.Settings = diagnosis.DefaultSettings()
	p, err := NewPlan(o)
	if err != nil {
		t.Fatal(err)
	}
	var all []Played
	for g := range p.Groups() {
		if len(p.groups[g].calls) == 0 {
			continue
		}
		some, err := p.Play(g)
		if err != nil {
			t.Fatal(err)
		}
		all = append(all, some...)
	}
	return p, all
}

// The same options give the same results, whatever order the groups are played in, and
// a way of working does as it does without the others beside it.
func TestSameSeedSameResults(t *testing.T) {
	o := Options{Calls: 2, Seed: 4, Split: Tuning, WrongShare: 0.05, ModelError: 0.3, Policies: []Policy{Rung, Odds}}
	p, a := played(t, o)
	o.Policies = []Policy{Odds}
	q, b := played(t, o)
	for i := range a {
		if x, y := a[i].Results[1], b[i].Results[0]; !reflect.DeepEqual(x, y) {
			t.Errorf("call %d: %+v beside another way, %+v alone", a[i].Call, x, y)
		}
	}
	one, two := p.Report(a, true), p.Report([]Played{a[1], a[0]}, true)
	if !reflect.DeepEqual(one, two) {
		t.Error("the report depends on the order of play")
	}
	if r := q.Report(b, false); len(r.Policies) != 1 || r.Calls != 2 {
		t.Errorf("%d policies, %d calls", len(r.Policies), r.Calls)
	}
}

// What the engine is not told of are whole repairs, and rare ones.
func TestUnlistedCausesAreLeftOut(t *testing.T) {
	all, err := fault.Load()
	if err != nil {
		t.Fatal(err)
	}
	for i, c := range splits[Testing] {
		w, err := newWorld(c, all, rand.New(rand.NewPCG(1, uint64(i))))
		if err != nil {
			t.Fatal(err)
		}
		told := map[string]bool{}
		for _, f := range w.told.Faults {
			told[f.Repair] = true
		}
		left := 0
		for _, k := range all.Complaints {
			for _, c := range w.left[k.ID] {
				left++
				if told[c.faults[0].Repair] || !c.unlisted {
					t.Errorf("%s: %s is left out, its repair is not", w.name, c.id())
				}
			}
			for _, c := range w.listed[k.ID] {
				if c.unlisted || len(c.faults) > 0 && !told[c.faults[0].Repair] {
					t.Errorf("%s: %s is listed without its repair", w.name, c.id())
				}
			}
		}
		if left == 0 {
			t.Errorf("%s: nothing is left out", w.name)
		}
	}
}

// No configuration is both for tuning and for testing.
func TestSplitsShareNothing(t *testing.T) {
	for _, a := range splits[Tuning] {
		for _, b := range splits[Testing] {
			if a.plate == b.plate || a.at == b.at {
				t.Errorf("%s and %s", a.name, b.name)
			}
		}
	}
	if _, err := configurations("holdout"); err == nil {
		t.Error("an unknown split gives no error")
	}
}

func TestRightToBegin(t *testing.T) {
	a, b := &fault.Fault{ID: "a", Repair: "mend-a"}, &fault.Fault{ID: "b", Repair: "mend-b"}
	for _, row := range []struct {
		name    string
		c       cause
		repairs []string
		want    bool
	}{
		{"one", cause{faults: []*fault.Fault{a}}, []string{"mend-a"}, true},
		{"another", cause{faults: []*fault.Fault{a}}, []string{"mend-b"}, false},
		{"one too many", cause{faults: []*fault.Fault{a}}, []string{"mend-a", "mend-b"}, false},
		{"first of a pair", cause{faults: []*fault.Fault{a, b}}, []string{"mend-a"}, true},
		{"second of a pair", cause{faults: []*fault.Fault{a, b}}, []string{"mend-b"}, false},
		{"second of a free pair", cause{faults: []*fault.Fault{a, b}, together: true}, []string{"mend-b"}, true},
		{"both", cause{faults: []*fault.Fault{a, b}}, []string{"mend-b", "mend-a"}, true},
		{"none for a sound one", cause{}, nil, true},
		{"some for a sound one", cause{}, []string{"mend-a"}, false},
		{"none for a fault", cause{faults: []*fault.Fault{a}}, nil, false},
	} {
		if got := row.c.rightToBegin(row.repairs); got != row.want {
			t.Errorf("%s: %v, want %v", row.name, got, row.want)
		}
	}
}

// Calibration and separation of made-up forecasts, worked out by hand.
func TestStatistics(t *testing.T) {
	stated, right := make([]float64, 100), make([]float64, 100)
	for i := range stated {
		stated[i], right[i] = 0.9, one(i%10 > 0)
	}
	all := make([]int, 100)
	for i := range all {
		all[i] = i
	}
	if e := calibrationError(stated, right, all); e > 1e-12 { // rounding
		t.Errorf("calibrated forecasts have an error of %g", e)
	}
	for i := range stated {
		stated[i] = 0.95
	}
	if e := calibrationError(stated, right, all); math.Abs(e-0.05) > 1e-12 {
		t.Errorf("an error of %g, want 0.05", e)
	}
	// Scores 1 2 2 3, sought 2 and 3: of four pairs three are won and one half.
	f := separation([]float64{1, 2, 2, 3}, []bool{false, true, false, true}, 1)
	if f.Value == nil || math.Abs(*f.Value-0.875) > 1e-12 {
		t.Errorf("separation %v, want 0.875", f.Value)
	}
	if f := mean(nil, 1); f.Value != nil || f.Of != 0 {
		t.Errorf("the mean of nothing is %v", f.Value)
	}
	if f := mean(right, 1); *f.Low > 0.9 || *f.High < 0.9 || *f.High-*f.Low > 0.15 {
		t.Errorf("0.9 of 100 within %.3f to %.3f", *f.Low, *f.High)
	}
}

// The quantile of a wider spread: at the middle the same, elsewhere farther out. Property.
func TestWidened(t *testing.T) {
	for _, u := range []float64{0.01, 0.2, 0.5, 0.7, 0.99} {
		w := widened(u, 1.3)
		if math.Abs(widened(u, 1)-u) > 1e-9 || (w-u)*(u-0.5) < 0 {
			t.Errorf("%g becomes %g", u, w)
		}
	}
}

func TestRefusesWhatIsNoTrial(t *testing.T) {
	for _, o := range []Options{
		{Calls: 0, Split: Tuning}, {Calls: 1, Split: "none"}, {Calls: 1, Split: Tuning, WrongShare: 1}, {Calls: 1, Split: Tuning, ModelError: -0.1},
		{Calls: 1, Split: Tuning, ModelError: math.NaN()},
	} {
		if _, err := NewPlan(o); err == nil {
			t.Errorf("%+v gives no error", o)
		}
	}
}
