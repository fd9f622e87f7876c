package ledger

import (
	"slices"
	"time"

	"rung/internal/record"
)

// Lesson is what a closed visit teaches beside its cause: how it ended, what its
// steps took, what was read twice. Nobody's entries in dispute teach anything.
type Lesson struct {
	Visit     record.VisitID `json:"visit"`
	Complaint string         `json:"complaint,omitempty"`
	Closed    time.Time      `json:"closed"`
	Outcome   string         `json:"outcome"`
	// Cause and Weight are those of a Closure; Weight is 0 if it is none. A visit fixed
	// by a repair for which nobody named a cause has Unnamed.
	Cause   string  `json:"cause,omitempty"`
	Weight  float64 `json:"weight,omitempty"`
	Unnamed bool    `json:"unnamed,omitempty"`
	// Causes are those for which its repairs were done, in order, where there are several.
	Causes []string `json:"causes,omitempty"`
	// Proved says that the proof held, CalledBack that the system was repaired again
	// within Callback all the same.
	Proved     bool `json:"proved,omitempty"`
	CalledBack bool `json:"called_back,omitempty"`
	// Made tells when units were made, as read off their plates, by kind of unit.
	Made map[string]string `json:"made,omitempty"`
	// Renewed is when the last repair of the visit was last done before it on the system.
	Renewed *time.Time `json:"renewed,omitempty"`
	Steps   []Step     `json:"steps,omitempty"`
	Read    []Repeat   `json:"read,omitempty"` // points read twice or oftener in an epoch
}

// Step is a check read or refused, or a repair done.
type Step struct {
	Check  string `json:"check,omitempty"`
	Repair string `json:"repair,omitempty"`
	Points int    `json:"points,omitempty"` // read at once
	By     string `json:"by,omitempty"`
	Role   string `json:"role,omitempty"`
	// Seconds since the entry before, of the same person on the same device and visit; 0
	// where the stamps do not tell: none before, entered later than read, read by another, refused.
	Seconds float64 `json:"seconds,omitempty"`
}

// Repeat is a point that was read again in the same epoch, at rest or settled.
type Repeat struct {
	Check  string        `json:"check"`
	Point  string        `json:"point"`
	Role   string        `json:"role,omitempty"`
	First  record.AsRead `json:"first"`
	Second record.AsRead `json:"second"` // both empty: not readable
}

// Lessons returns what the closed visits of the property teach.
func (p *Property) Lessons() []Lesson {
	var list []Lesson
	closures := map[record.VisitID]Closure{}
	for _, c := range p.Closures() {
		closures[c.Visit] = c
	}
	for _, v := range p.Visits {
		if v.Closed == nil || len(v.Disputes) > 0 {
			continue
		}
		c := closures[v.Visit]
		list = append(list, Lesson{
			Visit: v.Visit, Complaint: v.Complaint, Closed: v.Closed.Stamp.At.UTC(), Outcome: v.Closed.Outcome, Cause: c.Cause, Weight: c.Weight,
			Unnamed: v.Closed.Outcome == "fixed" && len(v.Repairs) > 0 && v.cause() == "",
			Causes:  v.causes(),
			Proved:  v.Closed.Outcome == "fixed" && len(v.Repairs) > 0 && v.proved(), CalledBack: p.calledBack(v),
			Made: p.Made(v.System), Renewed: p.renewed(v), Steps: v.steps(), Read: v.repeats(),
		})
	}
	return list
}

// causes returns the causes for which repairs were done, nil for fewer than two.
func (v *Visit) causes() []string {
	var list []string
	for _, r := range v.Repairs {
		if r.Cause != "" && !slices.Contains(list, r.Cause) {
			list = append(list, r.Cause)
		}
	}
	if len(list) < 2 {
		return nil
	}
	return list
}

// MadeField is the field of a nameplate that tells when the unit was made.
const MadeField = "made"

// Made tells when the units of a system were made, as read off their plates, by
// their kind.
func (p *Property) Made(system record.SystemID) map[string]string {
	var made map[string]string
	s, known := p.System(system)
	if !known {
		return nil
	}
	for _, u := range s.Units {
		if v := u.Plate[MadeField].Text; v != "" {
			if made == nil {
				made = map[string]string{}
			}
			made[u.Kind] = v
		}
	}
	return made
}

// renewed returns when the last repair of a visit was last done before it.
func (p *Property) renewed(v *Visit) *time.Time {
	if len(v.Repairs) == 0 {
		return nil
	}
	return p.Renewed(v, v.Repairs[len(v.Repairs)-1].Repair)
}

// Renewed returns when a repair was last done on the system of a visit before that
// visit; nil if never.
func (p *Property) Renewed(v *Visit, repair string) *time.Time {
	var last *time.Time
	for _, other := range p.Visits {
		if other == v || other.System != v.System {
			continue
		}
		for _, r := range other.Repairs {
			if at := r.Stamp.At.UTC(); r.Repair == repair && at.Before(v.Opened.At) && (last == nil || at.After(*last)) {
				last = &at
			}
		}
	}
	return last
}

// stamped is an entry of a visit with the step that it is part of, if any.
type stamped struct {
	Stamp
	step  Step
	timed bool
}

// atOnce is within what time readings of one check belong to one form.
const atOnce = 2 * time.Second

// steps returns checks and repairs in order, with the time since the entry before.
func (v *Visit) steps() []Step {
	all := v.stamps()
	slices.SortStableFunc(all, func(a, b stamped) int { return a.At.Compare(b.At) })
	var list []Step
	var last *stamped
	before := map[[2]string]time.Time{} // last entry by author and device
	for i := range all {
		e := &all[i]
		who := [2]string{e.Author, e.Device}
		at, known := before[who]
		before[who] = e.At
		switch {
		case e.step.Check == "" && e.step.Repair == "":
			continue
		case last != nil && e.step.Check != "" && last.step.Check == e.step.Check && last.Author == e.Author && e.At.Sub(last.At) <= atOnce:
			list[len(list)-1].Points++
		default:
			if e.timed && known {
				e.step.Seconds = e.At.Sub(at).Seconds()
			}
			list = append(list, e.step)
		}
		last = e
	}
	return list
}

// stamps returns the entries of the visit; those that are no step tell when
// somebody was last seen at work.
func (v *Visit) stamps() []stamped {
	all := []stamped{{Stamp: v.Opened}}
	for _, s := range v.Surroundings {
		all = append(all, stamped{Stamp: s.Stamp})
	}
	for _, r := range v.Readings {
		role := r.Role
		if role == "" && r.Stamp.Author == v.Who.Name {
			role = v.Who.Role
		}
		all = append(all, stamped{r.Stamp, Step{Check: r.Check, Points: 1, By: r.Stamp.Author, Role: role}, r.At == nil && r.By == "" && role != ""})
	}
	for _, r := range v.Refusals {
		all = append(all, stamped{Stamp: r.Stamp, step: Step{Check: r.Check, By: r.Stamp.Author}})
	}
	for _, r := range v.Repairs {
		step := Step{Repair: r.Repair, By: r.Stamp.Author}
		if r.Stamp.Author == v.Who.Name {
			step.Role = v.Who.Role
		}
		all = append(all, stamped{r.Stamp, step, r.By == "" && step.Role != ""})
	}
	for _, x := range v.Accepted {
		all = append(all, stamped{Stamp: x.Stamp})
	}
	for _, x := range v.Parts {
		all = append(all, stamped{Stamp: x.Stamp})
	}
	for _, x := range v.Proofs {
		all = append(all, stamped{Stamp: x.Stamp})
	}
	for _, x := range v.Notes {
		all = append(all, stamped{Stamp: x.Stamp})
	}
	return all
}

// repeats returns each counting reading that stands beside one of the same point,
// demand and epoch before it.
func (v *Visit) repeats() []Repeat {
	type place struct {
		check, point, demand string
		epoch                int
	}
	var list []Repeat
	first := map[place]*Reading{}
	for _, r := range v.Counting() {
		if r.Unsettled || r.Doubt != "" {
			continue
		}
		at := place{r.Check, r.Point, r.Demand, r.Epoch}
		if f := first[at]; f != nil {
			list = append(list, Repeat{Check: r.Check, Point: r.Point, Role: r.Role, First: f.AsRead, Second: r.AsRead})
		}
		first[at] = r
	}
	return list
}
