package trial

import (
	"fmt"
	"math"
	"math/rand/v2"

	"rung/internal/diagnosis"
	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/quantity"
)

// hidden is a plant that answers checks.
type hidden struct {
	luck   luck
	err    modelError
	wrong  float64 // share of wrong readings
	w      *world
	checks *fieldtest.Catalogue
	solver *plant.Solver
	at     plant.Surroundings
	sound  plant.Params

	cause    cause
	severity []float64 // of each fault of the cause
	stranger *fault.Fault
	mended   map[string]bool // repairs that cured
	seen     map[string][]shown
}

// shown is one point of a state as the model has it.
type shown struct {
	check *fieldtest.Check
	point *fieldtest.Point
	out   fieldtest.Outcome
}

// hide draws the plant of a call. Tolerances for which a plant has no solution are
// drawn again.
func (w *world) hide(l luck, c cause, e modelError, wrong float64, checks *fieldtest.Catalogue, solver *plant.Solver) (*hidden, error) {
	var err error
	for try := range 20 {
		h := &hidden{luck: l, err: e, wrong: wrong, w: w, checks: checks, solver: solver, cause: c,
			mended: map[string]bool{}, seen: map[string][]shown{}}
		if err = h.draw(try); err != nil {
			continue
		}
		if err = h.solvable(); err == nil {
			return h, nil
		}
	}
	return nil, fmt.Errorf("trial: %s of %s: %w", c.id(), w.name, err)
}

// draw fills in what nobody is told.
func (h *hidden) draw(try int) error {
	r := h.luck.source("plant", try)
	t := h.err.tolerance
	h.at = h.w.at
	h.at.Outdoor += quantity.Temperature(airOff * t * r.NormFloat64())
	h.at.ReturnDryBulb += quantity.Temperature(airOff * t * r.NormFloat64())
	h.at.ReturnWetBulb += quantity.Temperature(airOff * t * r.NormFloat64())
	h.at.Line *= quantity.Voltage(1 + lineOff*t*r.NormFloat64())
	h.sound = h.w.plant.Healthy()
	for _, n := range plant.Nuisances() {
		u := r.Float64()
		if n.Shape != plant.IndexShape {
			u = widened(u, t)
		}
		if err := n.Draw(&h.sound, math.Min(math.Max(u, 1e-9), 1-1e-9)); err != nil {
			return err
		}
	}
	h.severity = nil
	for range h.cause.faults {
		h.severity = append(h.severity, r.Float64())
	}
	h.stranger = h.w.any[r.IntN(len(h.w.any))]
	return nil
}

// demands are those at which points are read.
var demands = []plant.Demand{plant.Off, plant.Cool, plant.Fan, plant.Heat}

// solvable solves what a visit may ask for first.
func (h *hidden) solvable() error {
	for _, d := range demands {
		for _, who := range []string{"sound", "now"} {
			if _, err := h.state(who, d); err != nil {
				return err
			}
		}
	}
	return nil
}

// faultsOf returns the faults of a state: "sound", "now" or "stranger", each with its severity.
func (h *hidden) faultsOf(who string) (list []*fault.Fault, severity []float64) {
	switch who {
	case "now":
		for i, f := range h.cause.faults {
			if !h.mended[f.Repair] {
				list, severity = append(list, f), append(severity, h.severity[i])
			}
		}
	case "stranger":
		return []*fault.Fault{h.stranger}, []float64{0.5}
	}
	return list, severity
}

// state returns what all points show in a state at a demand, as the model has it.
func (h *hidden) state(who string, d plant.Demand) ([]shown, error) {
	faults, severity := h.faultsOf(who)
	return h.solve(faults, severity, d)
}

// acting is the state "now" while a check is done: a fault that comes and goes may rest.
func (h *hidden) acting(ref diagnosis.Ref, d plant.Demand, epoch int) ([]shown, error) {
	all, severities := h.faultsOf("now")
	var faults []*fault.Fault
	var severity []float64
	for i, f := range all {
		if f.Duty == 0 || f.Duty == 1 || h.luck.happens(f.Duty, "acts", f.ID, ref.Check, ref.Demand, epoch) {
			faults, severity = append(faults, f), append(severity, severities[i])
		}
	}
	return h.solve(faults, severity, d)
}

func (h *hidden) solve(faults []*fault.Fault, severity []float64, d plant.Demand) ([]shown, error) {
	key := d.String()
	for _, f := range faults {
		key += " " + f.ID
	}
	if known, solved := h.seen[key]; solved {
		return known, nil
	}
	ps := h.sound
	for i, f := range faults {
		if err := f.Apply(&ps, severity[i]); err != nil {
			return nil, err
		}
	}
	st, err := h.solver.Solve(&ps, h.at, d)
	if err != nil {
		return nil, err
	}
	var out []shown
	for i := range h.checks.Checks {
		c := &h.checks.Checks[i]
		for j := range c.Points {
			p := &c.Points[j]
			if p.At(d) && p.Applies(h.w.plant.Has) {
				out = append(out, shown{c, p, p.Predict(st)})
			}
		}
	}
	h.seen[key] = out
	return out, nil
}

// truth returns what a point shows, model error and all, without the meter.
func (h *hidden) truth(ref diagnosis.Ref, epoch int) (shown, fieldtest.Outcome, error) {
	d, err := plant.ParseDemand(string(ref.Demand))
	if err != nil {
		return shown{}, fieldtest.Outcome{}, err
	}
	now, err := h.acting(ref, d, epoch)
	if err != nil {
		return shown{}, fieldtest.Outcome{}, err
	}
	at := -1
	for i := range now {
		if now[i].check.ID == ref.Check && now[i].point.ID == ref.Point {
			at = i
		}
	}
	if at < 0 {
		return shown{}, fieldtest.Outcome{}, fmt.Errorf("trial: no point %v", ref)
	}
	sound, err := h.state("sound", d)
	if err != nil {
		return shown{}, fieldtest.Outcome{}, err
	}
	out := h.erred(ref, d, at, sound[at].out, now[at].out)
	return now[at], out, nil
}

// erred returns the outcome of a point with the error of the model: the effect of
// the faults on it is larger or smaller, missing, or that of another fault.
func (h *hidden) erred(ref diagnosis.Ref, d plant.Demand, at int, sound, now fieldtest.Outcome) fieldtest.Outcome {
	r := h.luck.source("effect", ref)
	larger := math.Exp(h.err.effects * r.NormFloat64())
	missing, spurious := r.Float64() < h.err.missing, r.Float64() < h.err.spurious
	if missing {
		now = sound
	}
	if spurious {
		if other, err := h.state("stranger", d); err == nil {
			now = moved(other[at].out, sound, now)
		}
	}
	if now.Kind == fieldtest.IsValue && sound.Kind == fieldtest.IsValue {
		now.Value = sound.Value + larger*(now.Value-sound.Value)
	}
	return now
}

// moved adds to an outcome the effect of another fault.
func moved(other, sound, now fieldtest.Outcome) fieldtest.Outcome {
	if other.Kind == fieldtest.IsValue && sound.Kind == fieldtest.IsValue && now.Kind == fieldtest.IsValue {
		now.Value += other.Value - sound.Value
		return now
	}
	if other != sound {
		return other
	}
	return now
}

// read returns the reading of a point: number times it was read before in this epoch.
func (h *hidden) read(ref diagnosis.Ref, epoch, times int) (diagnosis.Outcome, bool, error) {
	s, out, err := h.truth(ref, epoch)
	if err != nil {
		return diagnosis.Outcome{}, false, err
	}
	r := h.luck.source("wrong", ref, epoch, times)
	if r.Float64() < h.wrong {
		return h.wrongReading(r, ref, s, out), true, nil
	}
	return h.metered(ref, epoch, times, s, out), false, nil
}

// metered returns what the meter shows of an outcome.
func (h *hidden) metered(ref diagnosis.Ref, epoch, times int, s shown, out fieldtest.Outcome) diagnosis.Outcome {
	if out.Kind != fieldtest.IsValue {
		return outcomeOf(out)
	}
	m := &s.point.Meter
	off := h.luck.source("model", ref).NormFloat64() * math.Hypot(m.Discrepancy, m.DiscrepancyRatio*out.Value)
	drift := 2*h.luck.source("meter", s.check.Instrument).Float64() - 1
	scatter := 2*h.luck.source("scatter", ref, epoch, times).Float64() - 1
	v := out.Value + h.err.noise*(off+m.Limit(out.Value)*(drifted*drift+(1-drifted)*scatter))
	return diagnosis.Value(math.Min(math.Max(roundTo(v, m.Resolution), m.Low), m.High))
}

// wrongReading returns a reading that has nothing to do with the place named.
func (h *hidden) wrongReading(r *rand.Rand, ref diagnosis.Ref, s shown, out fieldtest.Outcome) diagnosis.Outcome {
	if words := len(s.point.Words); words > 0 {
		w := r.IntN(words)
		if out.Kind == fieldtest.IsWord && words > 1 { // another word than the right one
			w = (out.Word + 1 + r.IntN(words-1)) % words
		}
		return diagnosis.Word(w)
	}
	m := &s.point.Meter
	if d, err := plant.ParseDemand(string(ref.Demand)); err == nil && r.Float64() < wrongPlace {
		if now, err := h.state("now", d); err == nil {
			var like []float64
			for _, o := range now {
				if o.point.Dim == s.point.Dim && o.point != s.point && o.out.Kind == fieldtest.IsValue {
					like = append(like, o.out.Value)
				}
			}
			if len(like) > 0 {
				return diagnosis.Value(math.Min(math.Max(roundTo(like[r.IntN(len(like))], m.Resolution), m.Low), m.High))
			}
		}
	}
	return diagnosis.Value(roundTo(m.Low+r.Float64()*(m.High-m.Low), m.Resolution))
}

// refused says whether a check cannot be done.
func (h *hidden) refused(check string) bool { return h.luck.happens(refusedShare, "refused", check) }

// repair does a repair: it returns whether it was for one of the faults still there.
func (h *hidden) repair(id string, times int) (needed bool) {
	rep, known := h.w.whole.Repair(id)
	if !known || h.mended[id] || !h.cause.needs(id) {
		return false
	}
	if h.luck.happens(rep.Fix, "fix", id, times) {
		h.mended[id] = true
	}
	return true
}

// cured says whether nothing is wrong now.
func (h *hidden) cured() bool {
	left, _ := h.faultsOf("now")
	return len(left) == 0
}

// outcomeOf returns an outcome as the engine has it.
func outcomeOf(o fieldtest.Outcome) diagnosis.Outcome {
	switch o.Kind {
	case fieldtest.IsValue:
		return diagnosis.Value(o.Value)
	case fieldtest.IsWord:
		return diagnosis.Word(o.Word)
	}
	return diagnosis.NotReadable()
}
