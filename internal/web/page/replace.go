package page

// ReplacePage is a planner of replacements: its form, and its answer once it is
// filled in. The form is sent by GET, so that a filled planner is a link.
type ReplacePage struct {
	Shell
	About    string
	Cautions []string
	Wrong    string // what is wrong with the form as a whole
	Sets     []FieldSet
	Wires    *WireTable // of a thermostat
	After    []FieldSet // below the wires
	Hidden   []Hidden
	Action   string
	Try      Link // the page filled with an example
	Answer   *Replacement
}

// Mistakes lists the fields that were refused, for the summary at the top.
func (p ReplacePage) Mistakes() []Field {
	return FormPage{Sets: append(append([]FieldSet{}, p.Sets...), p.After...)}.Mistakes()
}

// WireTable asks for the conductors of a cable, one a row.
type WireTable struct {
	Heading, Intro string
	Ends           []Choice
	Rows           []WireRow
	More           []WireRow // shown on demand
}

// MoreOpen says whether one of the further rows is filled in.
func (w WireTable) MoreOpen() bool {
	for _, r := range w.More {
		if r.Colour != "" || r.At != "" || r.End != "" {
			return true
		}
	}
	return false
}

// WireRow is one conductor: names of its three inputs begin with Name.
type WireRow struct {
	Name, Title     string
	Colour, At, End string
}

// Replacement is the answer of a planner.
type Replacement struct {
	Headline string
	Grade    string // holds, fails, or empty: how it is marked
	Lead     string // one line below it
	Doubts   []string
	Choices  []PartChoice
	Buy      []string
	Facts    []Fact
	Why      []string // steps of a calculation
	Findings []Step
	Wires    []WireMove
	Jumper   string
	Losses   []string
	Settings []string
	Steps    []Step
	Proof    []Step
	Refused  []PartChoice
}

// PartChoice is a part, or parts that together do.
type PartChoice struct {
	Name  string
	Grade string // "Fits", "Fits with a note"
	Class string // holds, or empty
	Why   []string
	Notes []Step
}

// WireMove is what happens to one conductor.
type WireMove struct {
	Wire     string
	From, To string // terminals; To empty: capped
	Why      string
	Assumed  bool
}
