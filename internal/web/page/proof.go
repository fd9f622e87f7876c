package page

// ProofPage shows which checks must now read as they do on a healthy unit.
type ProofPage struct {
	Shell
	Intro     string
	Wrong     string // what is wrong with a proof that was refused
	Refused   []Field
	Modes     []ProofMode
	Next      Link // the first check still to be read; empty if there is none
	NotJudged *NotJudged
	Done      bool
	Verdict   string // "Proved", or what is missing
	Close     Link
	Empty     string   // said when there is nothing to prove yet
	Limits    []string // what the season does not allow
}

// ProofMode is the proof of one mode: cooling, heating, fan.
type ProofMode struct {
	Name    string
	How     string // what to do
	Limited string // "limited by weather: ..." or empty
	Checks  []ProofCheck
	Record  *ProofRecord // nil once it is recorded, or when nothing was read
	Done    string       // "Recorded."
}

// ProofRecord is the form that records the proof of a mode as it stands.
type ProofRecord struct {
	ID     string // of the form on its page
	Action string
	Hidden []Hidden
	Limit  Field // why it could not be proved in full
	Submit string
}

// ProofCheck is a point with its reading before and after the repair.
type ProofCheck struct {
	Name   string
	Before string
	After  string
	Must   string // what a healthy unit shows here, today
	State  ProofState
	Href   string
}

// ProofState says how a proof stands.
type ProofState int

// The states of a proof.
const (
	ProofOpen ProofState = iota
	ProofHolds
	ProofFails
	ProofRead // nothing to hold it against
)

// Word is the state in a word, with a sign so that colour is never alone.
func (s ProofState) Word() string {
	switch s {
	case ProofHolds:
		return "✓ holds"
	case ProofFails:
		return "✗ does not hold"
	case ProofRead:
		return "• read, not judged"
	}
	return "○ to be read"
}

// Class is the state for the style sheet.
func (s ProofState) Class() string {
	switch s {
	case ProofHolds:
		return "holds"
	case ProofFails:
		return "fails"
	case ProofRead:
		return "read"
	}
	return "open"
}

// Problem is the page for what went wrong: what, and what to do about it.
type Problem struct {
	Shell
	What  string
	Do    string
	Typed []Fact // what was typed, so that nothing is lost
	Retry Link
}
