package trial

import "sort"

// Report is what a trial found.
type Report struct {
	Calls          int            `json:"calls"`
	Seed           uint64         `json:"seed"`
	Split          Split          `json:"configurations"`
	WrongShare     float64        `json:"wrong_readings"`
	ModelError     float64        `json:"model_error"`
	Systems        []string       `json:"systems"`
	CallsOfKind    map[Kind]int   `json:"calls_of_kind"`
	OptimumMinutes Figure         `json:"minutes_knowing_the_cause"`
	Policies       []PolicyReport `json:"policies"`
	Differences    []Difference   `json:"differences"`
	Amiss          []Amiss        `json:"amiss,omitempty"`
	Seconds        float64        `json:"seconds,omitempty"` // filled in by the caller
}

// PolicyReport holds the figures of one way of working.
//
// Minutes are of all calls: what is handed over costs 120 minutes and the repair,
// a callback 150. Shares and calibration say of which calls they are.
type PolicyReport struct {
	Policy         Policy `json:"policy"`
	ToProvenCause  Figure `json:"minutes_to_proven_cause"`
	ToVerifiedFix  Figure `json:"minutes_to_verified_fix"`
	Cost           Figure `json:"minutes_with_price_of_wrong_parts"`
	Checks         Figure `json:"checks_per_call"`
	WrongParts     Figure `json:"wrong_parts_per_call"`
	WrongListed    Figure `json:"wrong_parts_per_listed_call"`
	WithWrongPart  Figure `json:"share_of_calls_with_wrong_part"`
	FirstRight     Figure `json:"first_repair_right_of_listed_calls"`
	FirstOfDecided Figure `json:"first_repair_right_of_listed_calls_repaired"`
	LeadRight      Figure `json:"leading_repair_right_of_listed_calls"`
	Top3           Figure `json:"top3_of_listed_calls"`
	SoundRight     Figure `json:"left_alone_of_sound_calls"`
	Callbacks      Figure `json:"callbacks_per_call"`
	Escalations    Figure `json:"escalations_per_call"`
	Justified      Figure `json:"escalations_with_unlisted_cause"`

	Calibration Calibration `json:"calibration"`

	// Of the probability of an unlisted cause when the checking first ended, and when
	// the visit ended.
	UnlistedAUC       Figure  `json:"unlisted_auc"`
	UnlistedEndAUC    Figure  `json:"unlisted_auc_at_end"`
	UnlistedMisfitAUC *Figure `json:"unlisted_auc_with_misfit,omitempty"`
	WrongFlagged      *Figure `json:"wrong_readings_flagged,omitempty"`
	FlagsRight        *Figure `json:"flags_that_were_wrong_readings,omitempty"`
	Stability         *Figure `json:"advice_stable_in_last_digit,omitempty"`
}

// Calibration compares the stated probability that the leading repair is right,
// when checking first ended, with what was right: of calls with a listed cause or
// none, and of all.
type Calibration struct {
	ECE      Figure `json:"ece"`
	ECEAll   Figure `json:"ece_all_calls"`
	Brier    Figure `json:"brier"`
	LogScore Figure `json:"log_score_nat"`
	Stated   Figure `json:"stated"`
	Right    Figure `json:"right"`
}

// Difference compares a way of working with Rung's, call by call: positive
// figures are what the other takes more.
type Difference struct {
	Policy        Policy `json:"policy"`
	ToProvenCause Figure `json:"minutes_to_proven_cause_more"`
	ToVerifiedFix Figure `json:"minutes_to_verified_fix_more"`
	Cost          Figure `json:"minutes_with_price_of_wrong_parts_more"`
	WrongParts    Figure `json:"wrong_parts_more"`
	// Rung's minutes over the other's, minus one: −0.25 is a quarter less.
	ProvenShare Figure `json:"rung_minutes_to_proven_cause_relative"`
	FixShare    Figure `json:"rung_minutes_to_verified_fix_relative"`
}

// Amiss is a call with a listed cause in which Rung's first repair was not right.
type Amiss struct {
	Call       int     `json:"call"`
	Cause      string  `json:"cause"`
	Kind       Kind    `json:"kind"`
	Lead       string  `json:"lead"`
	Confidence float64 `json:"confidence"`
	Escalated  bool    `json:"escalated"`
	Readings   int     `json:"readings"`
	Wrong      int     `json:"wrong_readings"`
}

// Report works out the figures. The order in which the groups were played does not matter.
func (p *Plan) Report(played []Played, details bool) Report {
	played = append([]Played(nil), played...)
	sort.Slice(played, func(i, j int) bool { return played[i].Call < played[j].Call })
	out := Report{Calls: len(played), Seed: p.o.Seed, Split: p.o.Split, WrongShare: p.o.WrongShare, ModelError: p.o.ModelError,
		CallsOfKind: map[Kind]int{}}
	for _, g := range p.groups {
		out.Systems = append(out.Systems, g.w.name)
	}
	by := make([]results, len(p.o.Policies))
	for _, c := range played {
		for i, r := range c.Results {
			by[i].list = append(by[i].list, r)
		}
	}
	for i := range by {
		by[i].seed = p.o.Seed
	}
	for _, r := range by[0].list {
		out.CallsOfKind[r.Kind]++
	}
	out.OptimumMinutes = by[0].mean(func(r *Result) float64 { return r.Optimum }, all)
	for i, name := range p.o.Policies {
		out.Policies = append(out.Policies, by[i].report(name))
		if i > 0 && p.o.Policies[0] == Rung {
			out.Differences = append(out.Differences, difference(name, by[0], by[i]))
		}
	}
	if details {
		out.Amiss = amiss(played)
	}
	return out
}

func amiss(played []Played) []Amiss {
	var out []Amiss
	for _, c := range played {
		if r := c.Results[0]; !r.FirstRight {
			out = append(out, Amiss{c.Call, r.Cause, r.Kind, r.Lead, r.Confidence, r.Escalated, r.Readings, r.Wrong})
		}
	}
	return out
}

// results are those of one way of working.
type results struct {
	list []Result
	seed uint64
}

func all(*Result) bool      { return true }
func listed(r *Result) bool { return r.Kind == Listed }
func known(r *Result) bool  { return r.Kind != Unlisted }

// of returns a number of each call that is asked for.
func (b results) of(x func(*Result) float64, which func(*Result) bool) []float64 {
	var out []float64
	for i := range b.list {
		if r := &b.list[i]; which(r) {
			out = append(out, x(r))
		}
	}
	return out
}

func (b results) mean(x func(*Result) float64, which func(*Result) bool) Figure {
	return mean(b.of(x, which), b.seed)
}

// one turns a yes or no into a number.
func one(yes bool) float64 {
	if yes {
		return 1
	}
	return 0
}

func (b results) share(x func(*Result) bool, which func(*Result) bool) Figure {
	return b.mean(func(r *Result) float64 { return one(x(r)) }, which)
}

func (b results) report(name Policy) PolicyReport {
	wrongParts := func(r *Result) float64 { return float64(r.WrongParts) }
	out := PolicyReport{
		Policy:         name,
		ToProvenCause:  b.mean(func(r *Result) float64 { return r.ToCause }, all),
		ToVerifiedFix:  b.mean(func(r *Result) float64 { return r.ToFix }, all),
		Cost:           b.mean(func(r *Result) float64 { return r.Cost }, all),
		Checks:         b.mean(func(r *Result) float64 { return float64(r.Checks) }, all),
		WrongParts:     b.mean(wrongParts, all),
		WrongListed:    b.mean(wrongParts, listed),
		WithWrongPart:  b.share(func(r *Result) bool { return r.WrongParts > 0 }, all),
		FirstRight:     b.share(func(r *Result) bool { return r.FirstRight }, listed),
		FirstOfDecided: b.share(func(r *Result) bool { return r.FirstRight }, func(r *Result) bool { return listed(r) && r.Decided }),
		LeadRight:      b.share(func(r *Result) bool { return r.LeadRight }, listed),
		Top3:           b.share(func(r *Result) bool { return r.Top3 }, listed),
		SoundRight:     b.share(func(r *Result) bool { return r.FirstRight }, func(r *Result) bool { return r.Kind == Sound }),
		Callbacks:      b.share(func(r *Result) bool { return r.Callback }, all),
		Escalations:    b.share(func(r *Result) bool { return r.Escalated }, all),
		Justified:      b.share(func(r *Result) bool { return r.Kind == Unlisted }, func(r *Result) bool { return r.Escalated }),
		Calibration:    b.calibration(),
	}
	sought := make([]bool, len(b.list))
	for i := range b.list {
		sought[i] = b.list[i].Kind == Unlisted
	}
	out.UnlistedAUC = separation(b.of(func(r *Result) float64 { return r.Unlisted }, all), sought, b.seed)
	out.UnlistedEndAUC = separation(b.of(func(r *Result) float64 { return r.UnlistedEnd }, all), sought, b.seed)
	if name == Rung {
		b.flags(&out, sought)
	}
	return out
}

// flags fills in what only the advice says.
func (b results) flags(out *PolicyReport, sought []bool) {
	both := separation(b.of(func(r *Result) float64 { return r.Doubt() }, all), sought, b.seed)
	found := figure(len(b.list), b.seed, b.ratio(func(r *Result) (float64, float64) { return float64(r.WrongFlagged), float64(r.Wrong) }))
	rightly := figure(len(b.list), b.seed, b.ratio(func(r *Result) (float64, float64) { return float64(r.WrongFlagged), float64(r.Flagged) }))
	stable := b.share(func(r *Result) bool { return r.Stable }, func(r *Result) bool { return r.Moved })
	out.UnlistedMisfitAUC, out.WrongFlagged, out.FlagsRight, out.Stability = &both, &found, &rightly, &stable
}

// Doubt is the unlisted posterior and the misfit of the leader in one number.
// practice: a misfit of three deviations is worth as much as even odds.
func (r *Result) Doubt() float64 { return r.Unlisted + max(r.Misfit, 0)/6 }

// ratio returns the statistic Σ a / Σ b.
func (b results) ratio(x func(*Result) (float64, float64)) func([]int) float64 {
	return func(calls []int) float64 {
		num, den := 0.0, 0.0
		for _, i := range calls {
			a, c := x(&b.list[i])
			num, den = num+a, den+c
		}
		return num / den
	}
}

func (b results) calibration() Calibration {
	stated := func(r *Result) float64 { return r.Confidence }
	right := func(r *Result) float64 { return one(r.LeadRight) }
	s, r := b.of(stated, known), b.of(right, known)
	return Calibration{
		ECE: calibrated(s, r, b.seed), ECEAll: calibrated(b.of(stated, all), b.of(right, all), b.seed),
		Brier: brier(s, r, b.seed), LogScore: logScore(s, r, b.seed), Stated: mean(s, b.seed), Right: mean(r, b.seed),
	}
}

func difference(name Policy, rung, other results) Difference {
	less := func(x func(*Result) float64) Figure {
		a, b := rung.of(x, all), other.of(x, all)
		d := make([]float64, len(a))
		for i := range a {
			d[i] = b[i] - a[i]
		}
		return mean(d, rung.seed)
	}
	relative := func(x func(*Result) float64) Figure { return excess(rung.of(x, all), other.of(x, all), rung.seed) }
	cause, fix := func(r *Result) float64 { return r.ToCause }, func(r *Result) float64 { return r.ToFix }
	return Difference{Policy: name, ToProvenCause: less(cause), ToVerifiedFix: less(fix),
		Cost:       less(func(r *Result) float64 { return r.Cost }),
		WrongParts: less(func(r *Result) float64 { return float64(r.WrongParts) }), ProvenShare: relative(cause), FixShare: relative(fix)}
}
