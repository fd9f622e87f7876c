package page

import "rung/internal/paperwork"

// ChainPage says which thermostat, units, disconnect and breaker of a house
// belong together, and what to prove next.
type ChainPage struct {
	Shell
	Empty   string // what to say while there is no system
	Next    *ChainNext
	Done    string // said when all is proved
	Swapped []Swapped
	Doubts  []string
	Heads   []string // of the table: the links
	Rows    []ChainRow
	Main    Link
	Second  Link
}

// ChainNext is the proof to make next.
type ChainNext struct {
	What  string // "Outdoor unit of 2 upstairs"
	Time  string // "about 6 minutes, 30 for all the rest"
	Steps []Step
}

// Swapped is a pair of systems that have each other's unit, disconnect or breaker.
type Swapped struct {
	Pair  string
	Says  string
	Means string
	Mend  []string
}

// ChainRow is a system in the table.
type ChainRow struct {
	System     string
	Thermostat string
	Cells      []ChainCell
}

// ChainCell is a link in the table; it leads to its own page.
type ChainCell struct {
	State string // proved, label, unknown, doubted
	Place string
	Says  string // the whole of it, for ears
	Href  string
}

// chainSigns tell the states of a cell apart without colour.
var chainSigns = map[string]string{"proved": "✓", "label": "?", "unknown": "–", "doubted": "✗"}

// LinkPage is one link of a chain: how it stands, how it is proved, and the
// form that takes what was found.
type LinkPage struct {
	FormPage
	Facts    []Fact
	TakeBack *Undo
	Time     string
	Steps    []Step
	Read     bool // the steps were read on the page before
}

// LabelsPage shows the labels of a house as they will be printed.
type LabelsPage struct {
	Shell
	Labels  []paperwork.ChainLabel
	LeftOut []string // why some are not printed
	PDF     string   // empty where none is made
}

func chainFacts(l paperwork.ChainLabel) []Fact {
	var list []Fact
	for _, x := range l.Chain {
		list = append(list, Fact{Name: x.Name, Value: x.Value, Doubt: x.Doubt})
	}
	return list
}
