package page

// StartPage is the first page: what is open, and where to go.
type StartPage struct {
	Shell
	Visits     []Link // open visits, newest first
	Tasks      []Link // what is still to be done, the most urgent first
	Properties []Link
	Find       string // what was typed into the search
	NewHref    string
	Elsewhere  []Link // other journals
}

// PlacePage shows a property, a system or any list below it: what is there,
// what happened there, what can be added.
type PlacePage struct {
	Shell
	Facts   []Fact
	Lists   []LinkList
	Tasks   []Task // still to be done
	Photos  PhotoSet
	Main    Link // the main action, at the bottom
	Second  Link // beside it
	Hazards []string
}

// Task is something still to be done, with the form that says it is.
type Task struct {
	What string
	When string
	Done Undo
}

// LinkList is a titled list of links, with what to say when it is empty.
type LinkList struct {
	Heading string
	Links   []Link
	Empty   string
	Add     Link
}

// Fact is a name and what it is.
type Fact struct {
	Name  string
	Value string
	Doubt string // "assumed", "as read from the plate", empty if plain
}

// UnitPage shows a unit: its nameplate, its past readings, its notes.
type UnitPage struct {
	Shell
	Disputes  []Dispute
	Plate     []Fact
	Unknown   int    // how many values of the plate are assumed
	PlateHref string // where the nameplate is typed in
	Trends    []Trend
	Notes     []Fact // panel notes left on it, newest first
	Photos    PhotoSet
	Visits    LinkList
	Main      Link
	Second    Link
}

// Trend is the past of one kind of reading.
type Trend struct {
	Name string
	SVG  string
	Key  string // what is drawn beside the readings; empty for nothing
	Last string
	// Forecast says where it goes, Recommend what to do about it; Act leads to the
	// form of that.
	Forecast, Recommend string
	Act                 Link
}
