package page

import "strings"

// LadderPage shows the wiring of a unit at one step of its sequence: what is
// live, and the volts between two points.
type LadderPage struct {
	Shell
	As       Field // healthy, or a chosen cause
	Demand   Field
	Step     Field
	Wires    Field // draw every wire
	Red      Field // the point under the red lead
	Black    Field
	Form     string   // where the form asks
	Drawing  string   // SVG
	Answer   string   // "Predicted: 240 V between T1 and T2"
	Others   []string // what it would be otherwise: "Healthy: 24.0 V"
	Detail   string   // range, low-impedance meter, what it means
	StepText string   // what was assumed, or what happened at this step
	Clear    string   // link that lifts both leads
	Cautions []string
	Lost     string // why no drawing can be made, if so
	// where a sequence is stepped through
	Moment        string // "17 s: "
	Happens       []string
	Before, After string // links to the neighbouring moments
	Ends          string // where the sequence stops
	Clamp         Field  // the conductor that a clamp is around
	Amps          string // what it reads
}

// Shown says in one line what the drawing shows.
func (p LadderPage) Shown() string {
	var parts []string
	for _, f := range []Field{p.As, p.Demand, p.Step} {
		if label := choiceLabel(f); label != "" {
			parts = append(parts, label)
		}
	}
	return strings.Join(parts, " · ")
}

// SequencePage shows what should happen in which order, and where it stops.
type SequencePage struct {
	Shell
	As    Field
	Form  string
	Taken string // what was assumed of the surroundings
	Steps []SequenceStep
	Ends  string // "Cooling runs." or what is missing
}

// SequenceStep is one step of the sequence of operation.
type SequenceStep struct {
	At      string // "after 3 s"
	Cause   string // "Thermostat calls for cooling"
	Changes []string
	Fails   bool // does not happen under the chosen cause
	Ladder  string
}
