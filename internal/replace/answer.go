package replace

import "slices"

// Grade is how well a part fits.
type Grade uint8

// The grades, best first.
const (
	Fits         Grade = iota // like for like
	FitsWithNote              // fits if what the notes ask is done
	Refused                   // does not fit
)

func (g Grade) String() string { return [...]string{"fits", "fits-with-note", "refused"}[g] }

// Choice is a part, or parts that together do, and how they fit.
type Choice struct {
	Parts  []int // places in the list of candidates
	Grade  Grade
	Why    []Sentence // why it fits, or why it is refused
	Notes  []Step     // what is to be done or watched with this one
	demand float64    // the lower, the better among equal grades
}

// Step is something to do, with the cautions that are shown at it: ids of the
// catalogue of package fieldtest.
type Step struct {
	Sentence
	Cautions []string
}

// Answer is what a planner says of the parts at hand.
type Answer struct {
	Choices []Choice   // best first: fits, then fits with a note
	Refused []Choice   // each with its reasons
	Buy     []Sentence // what to ask for where nothing at hand fits, or where only a makeshift does
	Steps   []Step     // how to change it, in order
	Doubts  []Sentence // on what was told of the old part
}

// Best returns the best choice at hand.
func (a *Answer) Best() (Choice, bool) {
	if len(a.Choices) == 0 {
		return Choice{}, false
	}
	return a.Choices[0], true
}

// MustBuy says whether nothing at hand fits.
func (a *Answer) MustBuy() bool { return len(a.Choices) == 0 }

// take sorts a choice into the answer.
func (a *Answer) take(c Choice) {
	if c.Grade == Refused {
		a.Refused = append(a.Refused, c)
		return
	}
	a.Choices = append(a.Choices, c)
}

// sort puts the best first; among equals the order of the candidates stands.
func (a *Answer) sort() {
	slices.SortStableFunc(a.Choices, func(x, y Choice) int {
		switch {
		case x.Grade != y.Grade:
			return int(x.Grade) - int(y.Grade)
		case x.demand < y.demand:
			return -1
		case x.demand > y.demand:
			return 1
		}
		return 0
	})
}

// refuse gives a reason why the part does not fit; what spoke for it is gone.
func (c *Choice) refuse(s Sentence) {
	if c.Grade != Refused {
		c.Grade, c.Why, c.Notes = Refused, nil, nil
	}
	c.Why = append(c.Why, s)
}

func (c *Choice) good(s Sentence) {
	if c.Grade != Refused {
		c.Why = append(c.Why, s)
	}
}

// note lowers the grade: the part fits if this is seen to. weight orders the
// choices of a grade.
func (c *Choice) note(weight float64, s Sentence, cautions ...string) {
	if c.Grade != Refused {
		c.Grade = FitsWithNote
	}
	c.watch(weight, s, cautions...)
}

// watch adds a remark that leaves the grade as it is.
func (c *Choice) watch(weight float64, s Sentence, cautions ...string) {
	if c.Grade == Refused {
		return
	}
	c.demand += weight
	c.Notes = append(c.Notes, Step{s, cautions})
}
