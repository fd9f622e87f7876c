package trial

import (
	"fmt"
	"math"
	"slices"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/plant"
)

// Prices of an ending, in minutes, the same for all ways of working.
// practice: those that the engine itself reckons with.
const (
	handOverMinutes = 120.0
	callbackMinutes = 150.0
	falsePass       = 0.02 // chance that a system not cured passes its verification
	gateMinutes     = 20.0 // what opening the charge gate costs where it is passed over
	refusedMinutes  = 1.0  // finding out that a check cannot be done
	closeMinutes    = 10.0
)

// Bounds of a visit: practice: after so many the mechanic hands over.
const (
	mostChecks  = 40
	mostRepairs = 5
	mostSteps   = 90
)

// verifying lists the checks that follow every repair, at a cooling call.
var verifying = []string{"look-listen", "delta-t-air"}

// visit is one call under one way of working.
type visit struct {
	h      *hidden
	sys    *asked
	c      diagnosis.Case
	chart  int // next line of a chart
	checks int
	// wrongly holds the ids of readings that were wrong.
	wrongly map[string]bool
	tried   map[string]int // repairs
	spent   float64        // minutes
	price   float64        // of parts in vain, in minutes
	r       Result
	decided bool
}

// able may do everything that the law lets a mechanic do.
var able = diagnosis.Person{Role: diagnosis.Mechanic, Refrigerant: true, Gas: true, Electrician: true}

func newVisit(h *hidden, sys *asked) *visit {
	return &visit{h: h, sys: sys, wrongly: map[string]bool{}, tried: map[string]int{}, r: Result{ToCause: math.NaN()},
		c: diagnosis.Case{Person: able, Setup: []string{"outdoor-running", "indoor-running"}}}
}

// stepKind is the kind of a step.
type stepKind int

// The kinds of step.
const (
	doCheck stepKind = iota
	doRepair
	doClose
	doHandOver
)

// step is what a way of working does next.
type step struct {
	kind    stepKind
	check   diagnosis.Suggestion
	repairs []string
	// confidence is the stated probability that the leading repair is right, lead what
	// it is, for a step that ends the checking.
	confidence float64
	lead       []string
	misfit     float64
	flagged    []string // ids of readings called wrong
}

// play follows a way of working to the end of the visit.
func (v *visit) play(w way) (Result, error) {
	for range mostSteps {
		s, err := w.next(v)
		if err != nil {
			return v.r, err
		}
		if s.kind != doCheck && !v.decided {
			if err := v.decide(s); err != nil {
				return v.r, err
			}
		}
		over, err := v.do(s)
		if err != nil {
			return v.r, err
		}
		if over {
			end, err := v.sys.Survey(v.c, false)
			v.r.UnlistedEnd = end.Unlisted
			return v.r, err
		}
	}
	v.handOver()
	return v.r, nil
}

func (v *visit) do(s step) (over bool, err error) {
	switch s.kind {
	case doCheck:
		return false, v.take(s.check)
	case doRepair:
		if len(v.c.Repairs) >= mostRepairs {
			v.handOver()
			return true, nil
		}
		return v.repair(s.repairs)
	case doClose:
		v.spent += closeMinutes
		v.end(v.h.cured(), !v.h.cured())
		return true, nil
	}
	v.handOver()
	return true, nil
}

// take does one check.
func (v *visit) take(s diagnosis.Suggestion) error {
	v.checks++
	for _, st := range s.Setup {
		v.turn(st.State, st.On)
		v.spent += st.Minutes
	}
	if s.Kind == diagnosis.Measure && v.h.refused(s.Check) {
		v.spent += refusedMinutes
		for _, ref := range s.Refs {
			v.c.Refused = append(v.c.Refused, diagnosis.Refusal{Ref: ref, Epoch: v.c.Epoch()})
		}
		return nil
	}
	v.spent += s.CheckMinutes
	for _, ref := range s.Refs {
		if err := v.read(ref); err != nil {
			return err
		}
	}
	return nil
}

// read adds the reading of a point.
func (v *visit) read(ref diagnosis.Ref) error {
	times := 0
	for _, r := range v.c.Readings {
		if r.Ref == ref && r.Epoch == v.c.Epoch() {
			times++
		}
	}
	out, wrong, err := v.h.read(ref, v.c.Epoch(), times)
	if err != nil {
		return err
	}
	id := fmt.Sprint("r", len(v.c.Readings)+1)
	v.c.Readings = append(v.c.Readings, diagnosis.Reading{ID: id, Ref: ref, Outcome: out, Epoch: v.c.Epoch(), Seq: len(v.c.Readings) + 1})
	if wrong {
		v.wrongly[id] = true
	}
	return nil
}

// turn brings a setup state about or takes it back.
func (v *visit) turn(state string, on bool) {
	at := slices.Index(v.c.Setup, state)
	switch {
	case on && at < 0:
		v.c.Setup = append(slices.Clone(v.c.Setup), state)
	case !on && at >= 0:
		v.c.Setup = slices.Delete(slices.Clone(v.c.Setup), at, at+1)
	}
}

// switching brings about the states that must hold and takes back those that
// must not, and returns the minutes.
func (v *visit) switching(on, off []string) float64 {
	minutes := 0.0
	set := func(id string, to bool) {
		s, known := v.h.checks.Setup(id)
		if !known || slices.Contains(v.c.Setup, id) == to {
			return
		}
		v.turn(id, to)
		if to {
			minutes += s.Minutes
		} else {
			minutes += s.Undo
		}
	}
	for _, id := range off {
		set(id, false)
	}
	for _, id := range on {
		if s, known := v.h.checks.Setup(id); known {
			for _, x := range s.Excludes {
				set(x, false)
			}
		}
		set(id, true)
	}
	return minutes
}

// repair does the repairs of a class, then verifies.
func (v *visit) repair(ids []string) (over bool, err error) {
	if v.h.cause.rightToBegin(ids) && math.IsNaN(v.r.ToCause) {
		v.r.ToCause = v.spent
	}
	for _, id := range ids {
		rep, known := v.h.w.whole.Repair(id)
		if !known {
			return false, fmt.Errorf("trial: no repair %s", id)
		}
		v.spent += v.switching(rep.Needs, nil) + rep.Minutes
		if !v.h.repair(id, v.tried[id]) {
			v.r.WrongParts++
			v.price += rep.Wrong
		}
		v.tried[id]++
		v.r.Repairs++
		v.c.Repairs = append(v.c.Repairs, id)
	}
	return v.verify()
}

// verify runs the system after a repair and reads what shows whether it cools.
func (v *visit) verify() (over bool, err error) {
	for _, id := range verifying {
		check, known := v.h.checks.Check(id)
		if !known {
			return false, fmt.Errorf("trial: no check %s", id)
		}
		v.spent += v.switching(check.Needs, check.Without) + check.Minutes
	}
	v.spent += v.switching([]string{"outdoor-running", "indoor-running"}, nil)
	for _, id := range verifying {
		check, _ := v.h.checks.Check(id)
		for i := range check.Points {
			if p := &check.Points[i]; v.cools(p) {
				if err := v.read(diagnosis.Ref{Check: id, Point: p.ID, Demand: diagnosis.Cool}); err != nil {
					return false, err
				}
			}
		}
	}
	switch {
	case v.h.cured():
		v.end(true, false)
		return true, nil
	case v.h.luck.happens(falsePass, "pass", v.c.Epoch()):
		v.end(false, true)
		return true, nil
	}
	return false, nil
}

// cools says whether a point of this system is read at a cooling call.
func (v *visit) cools(p *fieldtest.Point) bool {
	return p.Applies(v.h.w.plant.Has) && slices.ContainsFunc(p.Demands, func(d plant.Demand) bool { return d.String() == string(diagnosis.Cool) })
}

// end closes the visit.
func (v *visit) end(fixed, callback bool) {
	v.r.Fixed, v.r.Callback = fixed, callback
	v.r.ToFix = v.spent
	if callback {
		v.r.ToFix += callbackMinutes
	}
	v.settle(v.r.ToFix)
}

// handOver ends the visit without a fix; who takes it over has to do the repair.
func (v *visit) handOver() {
	v.r.Escalated = true
	v.r.ToFix = v.spent + handOverMinutes + v.h.repairMinutes()
	v.settle(v.r.ToFix)
}

// settle fills in the sums.
func (v *visit) settle(minutes float64) {
	if math.IsNaN(v.r.ToCause) {
		v.r.ToCause = minutes - v.h.repairMinutes()
	}
	v.r.Checks = v.checks
	v.r.Cost = minutes + v.price
}

// repairMinutes is the time of the repairs still needed.
func (h *hidden) repairMinutes() float64 {
	sum := 0.0
	done := map[string]bool{}
	left, _ := h.faultsOf("now")
	for _, f := range left {
		if rep, known := h.w.whole.Repair(f.Repair); known && !done[f.Repair] {
			done[f.Repair] = true
			sum += rep.Minutes
		}
	}
	return sum
}

// decide records what stood when the checking first ended.
func (v *visit) decide(s step) error {
	v.decided = true
	v.r.Confidence, v.r.Misfit = s.confidence, s.misfit
	v.r.LeadRight = v.h.cause.rightToBegin(s.lead)
	v.r.FirstRight = v.r.LeadRight && (s.kind == doRepair || s.kind == doClose)
	v.r.Decided = s.kind == doRepair || s.kind == doClose
	now, err := v.sys.Survey(v.c, false)
	if err != nil {
		return err
	}
	v.r.Unlisted = now.Unlisted
	for _, r := range now.Repairs[:min(3, len(now.Repairs))] {
		v.r.Top3 = v.r.Top3 || v.h.cause.rightToBegin(r.IDs)
	}
	for id := range v.wrongly {
		v.r.Wrong++
		if slices.Contains(s.flagged, id) {
			v.r.WrongFlagged++
		}
	}
	v.r.Flagged = len(s.flagged)
	v.r.Readings = len(v.c.Readings)
	if len(s.lead) > 0 {
		v.r.Lead = fmt.Sprint(s.lead)
	}
	v.r.Minutes = v.spent
	return nil
}
