package page

import "strconv"

// VisitPage is the page on which a mechanic works: the next check, what else
// could be checked, which causes stand, what has been read.
type VisitPage struct {
	Shell
	Complaint           string // in the customer's own words
	Facts               []Fact // complaint class and surroundings
	AroundURL           string // where the surroundings are changed
	Verdict             *Verdict
	Next                *CheckCard
	Others              []Link // the two runner-up checks
	AllHref, ChooseHref string // all checks; to choose before one is proposed
	Causes              Causes
	NotJudged           *NotJudged
	Warnings            []string
	Readings            []ReadingLine
	Effect              Effect
	Disputes            []Dispute
	Hazards             []string // found here and not over
	Closed              string   // when and how the visit was closed; empty while it is open
	Papers              []Link   // note, report, closing
	Photos              PhotoSet
	Languages           *Languages
}

// Effect is what the readings of the last form did.
type Effect struct {
	Brief   []string // a few sentences
	Points  []EffectPoint
	Changes []EffectChange
}

// EffectPoint is a reading beside what was to be expected.
type EffectPoint struct {
	Name, Reading string
	Expect        []Expect
	Truth         string // what it truly says, where it invites a wrong belief
}

// EffectChange lists causes under a heading.
type EffectChange struct {
	Heading string
	Causes  []string
}

// Verdict is what the reasoning advises once another check costs more than it
// tells: repair, or call for help.
type Verdict struct {
	Heading  string // "Ready to repair: replace run capacitor"
	Why      string
	Cost     string   // what a wrong part would cost
	Held     []string // why the repair is not proposed although it leads
	Cautions []string
	Action   Link
	Onward   bool // to go on checking: what leads is held back
}

// Causes lists what stands and what does not.
type Causes struct {
	Standing []Cause
	Unlisted string // odds that it is something not on the list
	Ruled    []Ruled
	RuledOut int      // how many causes Ruled stands for
	Hint     string   // when the odds should not be trusted
	Beside   []string // what weighs in beside the readings
	Learned  string   // address of the page that says where the odds begin; may be empty
}

// shown is how many causes stand open on the page; the others are a tap away.
const shown = 5

// First returns the likeliest causes.
func (c Causes) First() []Cause { return c.Standing[:min(shown, len(c.Standing))] }

// Others returns the causes that stand behind them.
func (c Causes) Others() []Cause { return c.Standing[len(c.First()):] }

// Cause is a cause that stands.
type Cause struct {
	ID       string
	Name     string // short
	Detail   string // one sentence of what is wrong
	Repair   string
	Severity string // "about half of its rating"
	Odds     string // "72 in 100"
	Bar      string // SVG
	Reasons  []string
}

// More heads what is folded under a cause.
func (c Cause) More() string {
	if len(c.Reasons) == 0 {
		return "What is wrong"
	}
	return "Why"
}

// Ruled is causes ruled out together, with the readings that did it.
type Ruled struct {
	Name string // of the likeliest, and how many others
	Why  string
}

// NotJudged says why charge is not judged today and what stays to be done.
type NotJudged struct {
	Reasons []string
	Task    string
}

// ReadingLine is one reading as it was read.
type ReadingLine struct {
	What   string // check and point
	Value  string // as read
	When   string
	Doubt  string // "not settled", "does not fit", or empty
	Repair bool   // a line that says what was repaired: readings above are from before
	Undo   *Undo
}

// Undo takes an entry back.
type Undo struct {
	Action string
	Hidden []Hidden
}

// CheckCard is a check: what to do, where, with what care, what to expect,
// and the place to enter what was read.
type CheckCard struct {
	ID         string
	Name       string
	Why        string // why this one now
	Minutes    int
	SetUp      int    // minutes of setting up, beyond Minutes
	Power      string // power on, power off, either
	Instrument string
	Setup      []string // what must be done first: panel off, gauges on
	Cautions   []string
	Measures   string // what it is for
	Steps      []Step
	Where      string
	Outcomes   []string // what each outcome would leave
	Points     []PointEntry
	Demand     Field
	Settled    *Field // asked only where it matters
	Note       Field
	Hidden     []Hidden
	Action     string // where readings are sent
	RefuseURL  string // where "could not do" is sent
	RefuseID   string // the id of that form
	From       string // the page to return to, if it is not the visit
	Refused    string // said before: could not be done, and why
	Clock      string // names the settling clock on this device; empty if none
	Refusals   []Choice
	Wrong      string
	Photos     PhotoSet // of the check in this visit, and the way to add one
}

// Step is one step of a check, with the cautions that belong to it.
type Step struct {
	Text     string
	Cautions []string
}

// PointEntry is one thing to read in a check.
type PointEntry struct {
	Field  Field
	Open   *Field // tick: the meter shows OL
	Blank  *Field // tick: the meter shows nothing
	Expect []Expect
	Same   string // said when the leading causes show what a healthy unit shows
	Range  string // SVG of the same
	Before string // what was read earlier in this visit
}

// Expect is what a meter should show if a cause is the one.
type Expect struct {
	If    string // "healthy", or the name of a cause
	Shows string // "38 to 46 µF"
}

// OneTap says whether the check is answered by a single choice of words, so
// that the choice itself can send it.
func (c CheckCard) OneTap() bool {
	return len(c.Points) == 1 && c.Points[0].Field.Kind == Choose
}

// Mistakes lists the refused fields.
func (c CheckCard) Mistakes() []Field {
	var list []Field
	for _, p := range c.Points {
		if p.Field.Error != "" {
			list = append(list, p.Field)
		}
	}
	return list
}

// CheckPage is one check on its own.
type CheckPage struct {
	Shell
	Card      CheckCard
	Languages *Languages
}

// ChecksPage lists every check.
type ChecksPage struct {
	Shell
	Intro  string // empty for none
	Groups []LinkList
}

// ComparisonPage holds a check somebody chose against the one proposed.
type ComparisonPage struct {
	Shell
	Verdict string
	Good    bool
	Why     []string
	Chosen  Weighed
	Best    *Weighed // nil if it is the chosen one, or none is proposed
	Again   Link     // to choose another
}

// Weighed is a check as it is held against another.
type Weighed struct {
	Name     string
	Note     string // minutes and what it needs
	Why      string // why it is proposed; empty if it is not
	Expect   []WeighedPoint
	Outcomes []string
	Do       Link
}

// WeighedPoint is what one point should show under each leading cause.
type WeighedPoint struct {
	Name   string
	Expect []Expect
	Same   string // said where the causes differ in nothing
}

// count puts a number before one or many things.
func count(n int, one, many string) string {
	if n == 1 {
		return "1 " + one
	}
	return strconv.Itoa(n) + " " + many
}
