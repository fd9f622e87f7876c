package trial

// Result is how one visit went.
type Result struct {
	Cause    string // hidden
	Kind     Kind
	Lead     string  // repairs that led when the checking first ended
	ToCause  float64 // minutes until a repair that is right to begin with was begun
	ToFix    float64 // minutes until the fix was verified, by whom ever
	Minutes  float64 // minutes until the checking first ended
	Cost     float64 // minutes with the price of parts in vain
	Optimum  float64 // minutes of one who knows the cause
	Checks   int
	Readings int // when the checking first ended
	Repairs  int

	WrongParts int
	Fixed      bool // by this visit
	Callback   bool
	Escalated  bool

	Decided    bool // the checking ended with a repair, or with nothing found
	FirstRight bool // and that was right
	LeadRight  bool // what led was right, done or handed over
	Top3       bool
	Confidence float64 // stated, that what led is right
	Unlisted   float64 // probability of an unlisted cause
	// UnlistedEnd is the same when the visit ended, after what the repairs showed.
	UnlistedEnd float64
	Misfit      float64

	Wrong, WrongFlagged, Flagged int // readings

	Moved, Stable bool // a reading was moved by a digit, and the advice stayed
}

// Kind is what kind of cause a call has.
type Kind string

// The kinds.
const (
	Listed   Kind = "listed"
	Unlisted Kind = "unlisted"
	Sound    Kind = "sound"
)

func (c *cause) kind() Kind {
	switch {
	case len(c.faults) == 0:
		return Sound
	case c.unlisted:
		return Unlisted
	}
	return Listed
}
