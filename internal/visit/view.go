package visit

import (
	"rung/internal/diagnosis"
	"rung/internal/ledger"
	"rung/internal/quantity"
	"rung/internal/record"
)

// Choice is one of a closed list of answers: its stable id and its wording.
type Choice struct{ ID, Name string }

// Here is a visit with its system and property.
type Here struct {
	Property *ledger.Property
	System   *ledger.System
	Visit    *ledger.Visit
}

// Advice is what the reasoning says now, in words.
type Advice struct {
	Verdict diagnosis.Verdict
	Heading string // "Ready to repair: replace the run capacitor"
	Why     string // one sentence
	Cost    string // what one more check would gain and a wrong part would cost

	Repair   *RepairLine // the leading repair, proposed or held
	Standing []CauseLine // likeliest first
	RuledOut []RuledLine
	Unlisted string // "about 5 in 100 that it is something not on the list", empty if negligible
	Hint     string // when the odds should not be trusted
	Next     []Card // up to three checks, the best first
	// Beside says what weighs in beside the readings: what the shop proved, what
	// was done to the system of late.
	Beside []string

	NotJudged *NotJudged // when charge matters and cannot be judged
	Warnings  []string
	// Effect says what the readings of the last form did, in at most three
	// sentences; EffectDetail the same at full length, nil if nothing was read.
	Effect       []string
	EffectDetail *EffectDetail

	// Raw is what the engine said.
	Raw diagnosis.Advice
}

// CauseLine is a cause that stands.
type CauseLine struct {
	ID          string
	Name        string // short: "Weak compressor capacitor"
	Detail      string // one plain sentence of what is wrong; empty if nothing is
	RepairID    string // empty if there is none
	Repair      string // its name
	Part        string
	Probability float64
	Odds        string // "72 in 100", "under 1 in 100"
	Severity    string // "about half of its rating", empty if it has none
	Reasons     []string
}

// RuledLine is what the readings of one form ruled out.
type RuledLine struct {
	IDs  []string // causes, the formerly likeliest first
	Name string   // the first five by name, and how many others
	Why  string   // the readings
}

// RepairLine is a repair as it stands.
type RepairLine struct {
	ID          string
	Name        string
	Part        string
	Minutes     float64  // with setting up, where it is known
	Probability float64  // that nothing would be wrong after it
	Cure        string   // the same in words
	Held        []string // why it is not proposed although it leads
	Cautions    []string
	Note        string
	Why         string // what to ask about the part that failed
	Licence     string // refrigerant, electrician or empty
}

// NotJudged says why the charge is not judged, and what is left to do.
type NotJudged struct {
	Reasons []string
	Task    string // "Come back to judge the charge when it is at least 65 °F outdoors."
	IDs     []diagnosis.ChargeReason
	// ReturnAbove is zero unless the weather is a reason.
	ReturnAbove quantity.Temperature
}

// Card is a check as it is put before the mechanic.
type Card struct {
	Check      string
	Name       string
	Measures   string // what it is for
	Why        string // why this one now; empty if it was chosen freely
	Minutes    float64
	SetUp      float64 // minutes of setting up, beyond Minutes
	Power      string  // on, off, either
	Instrument string
	Where      string
	Setup      []string // what is to be done first, in order
	Steps      []Step
	Cautions   []string // all of Setup and Steps, each once
	Demand     Choice
	Demands    []Choice // at which it can be read
	Points     []CardPoint
	// AskSettled says after how long a reading counts, "after 15 minutes of
	// running"; empty if a reading soon after the start does not mislead.
	AskSettled string
	// Unpredicted says why no point has anything to expect, if so.
	Unpredicted string
	// Refused is why it could not be done in this epoch, if so.
	Refused string
	// Outcomes says what each outcome would leave standing, of a proposed check.
	Outcomes []string
}

// Step is one step of a check, with the cautions shown at it.
type Step struct {
	Text     string
	Cautions []string
}

// CardPoint is one thing to read in a check.
type CardPoint struct {
	Point  string
	Name   string
	Dim    quantity.Dimension // "" for words
	Unit   string             // of the meter
	Units  []string           // that may be typed
	Words  []Choice           // the closed list, if it is one
	OL     bool               // "OL" may be typed: more than the meter shows
	Expect []Expect
	// Before is what was read in this visit, BeforeRepair that it was before
	// the last repair.
	Before       string
	BeforeRepair bool
}

// Expect is what a point should show if a cause is the one.
type Expect struct {
	Cause string // id, "healthy" for nothing wrong
	If    string // its name
	Shows string // "38 to 46 µF", "running"
	// Number says that Low and High hold the 5 and 95 % points in SI.
	Number    bool
	Low, High float64
	// words are the words of the point that Shows holds; unreadable, that it may
	// show nothing.
	words      []int
	unreadable bool
}

// Proof says how the proof of the visit stands.
type Proof struct {
	Intro     string
	Modes     []ProofMode
	NotJudged *NotJudged
	Complete  bool
	Verdict   string // "Proved: …" or what is missing
	Limits    []string
}

// ProofMode is the proof of one mode.
type ProofMode struct {
	Mode     Choice
	How      string // what to do
	Limited  string // "Limited by weather: …", or empty
	Recorded bool   // the proof of this mode was recorded
	Lines    []ProofLine
}

// ProofState says how one line of a proof stands.
type ProofState string

// The states.
const (
	ProofOpen  ProofState = "open"
	ProofHolds ProofState = "holds"
	ProofFails ProofState = "fails"
	// ProofRead: read, and nothing to hold it against, because no system can be
	// modelled in these surroundings or from these plates.
	ProofRead ProofState = "read"
)

// ProofLine is a point before and after the repair.
type ProofLine struct {
	Check, Point, Demand string
	Name                 string
	Before, After        string // as read
	Must                 string // what is healthy here today
	State                ProofState

	before, after *record.AsRead
}

// PlateField is a field of a nameplate.
type PlateField struct {
	ID    string
	Name  string
	Where string   // where it stands, or is measured
	Units []string // UnitKinds on which it is found
	Dim   quantity.Dimension
	Unit  string   // usual unit
	Words []Choice // for a field in words
	// Plain says that the number stands there without its unit, as SEER does.
	Plain bool
	// Value is what is known, as read; empty if unknown. How says from where.
	Value, How string
	// Assumed is what is taken instead, and Reason why; empty if nothing is.
	Assumed, Reason string
}

// HistoryLine is a past reading of a point.
type HistoryLine struct {
	ledger.PastReading
	Number  bool // it is one; Value is its SI
	Value   float64
	Showing string // as read
}
