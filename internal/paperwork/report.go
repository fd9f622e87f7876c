package paperwork

// Report is the visit report for the customer: what was said, found, done and
// proved, in plain words.
type Report struct {
	Shop         string
	Phone        string
	Property     string
	System       string
	Day          string
	By           string
	Said         string   // in the customer's own words
	Found        []string // plain words, with the reading that shows it
	Done         []Work
	Proof        []ProofLine
	Limits       []string // what the season did not allow
	Unjudged     []string
	Todo         string
	Safety       []string
	Advice       []string
	Surroundings string
	Readings     []Reading
	Open         bool // the visit is not closed yet: the report is a draft
}

// Work is a repair as recorded.
type Work struct {
	What     string
	Out, In  string
	Measured string // what the old part measured
	Why      string // why it failed
}

// ProofLine is one reading that proves the repair.
type ProofLine struct {
	Name   string
	Before string
	After  string
	Must   string
	Word   string // "holds", "does not hold", "not read"
}
