package replace

import (
	_ "embed"
	"math"

	"rung/internal/fault"
	"rung/internal/quantity"
	"rung/internal/source"
)

// ControlLoad is a kind of load on the control transformer.
type ControlLoad struct {
	ID     string
	VA     quantity.Power // counted for one of them
	Source source.Source
}

//go:embed data/controlloads.txt
var controlLoadsText string

var controlLoads = mustControlLoads(controlLoadsText)

// ControlLoads lists the kinds of load on a control transformer, with the
// volt-amperes to be counted where the plate does not tell.
func ControlLoads() []ControlLoad { return append([]ControlLoad(nil), controlLoads...) }

func mustControlLoads(text string) []ControlLoad {
	f, err := fault.ParseFile("controlloads.txt", text)
	if err != nil {
		panic("replace: " + err.Error())
	}
	var list []ControlLoad
	for _, b := range f.Blocks {
		x, va := ControlLoad{ID: b.ID, Source: f.Source}, 0.0
		keys := map[string]fault.Key[ControlLoad]{
			"va": fault.Required(fault.Number(func(*ControlLoad) *float64 { return &va }, 0.5, 60)),
		}
		if err := fault.Decode(f, b, keys, &x); err != nil {
			panic("replace: " + err.Error())
		}
		x.VA = quantity.Power(va)
		list = append(list, x)
	}
	return list
}

// LoadOf returns the volt-amperes of so many loads of each kind. An unknown
// kind counts nothing and is returned.
func LoadOf(counts map[string]int) (sum quantity.Power, unknown []string) {
	for id, n := range counts {
		known := false
		for _, l := range controlLoads {
			if l.ID == id {
				sum, known = sum+l.VA*quantity.Power(n), true
			}
		}
		if !known {
			unknown = append(unknown, id)
		}
	}
	return sum, unknown
}

// TransformerLabel is what is printed on a control transformer.
type TransformerLabel struct {
	Name      string
	Primary   []quantity.Voltage // taps
	Secondary quantity.Voltage
	VA        quantity.Power
	Class2    bool
	Protected bool // its own fuse or breaker, or inherently limited
}

// TransformerNeed is what the transformer has to do.
type TransformerNeed struct {
	Line quantity.Voltage // measured at the primary leads
	Load quantity.Power   // VA, counted
	Old  quantity.Power   // VA of the old one; 0 if not known
	Fuse quantity.Current // control fuse on the board; 0 if there is none
}

// Limits of the choice of a transformer.
//
// practice: unloaded 26 to 29 V, replace or unload below 21 to 22 V under load;
// a tap that is 10 % off gives 21.6 or 26.4 V at full load.
const (
	secondaryVolts = 24.0 // V
	tapTolerance   = 0.10 // of the tap
)

// classTwoLimit is the most that a class 2 source may be rated.
//
// memory: NEC chapter 9 table 11(A), 100 VA for 20 to 30 V, not inherently limited.
const classTwoLimit = 100.0 // VA

// RatedCurrent is the secondary current of a transformer at its rating.
//
// published: definition of apparent power.
func RatedCurrent(va quantity.Power, secondary quantity.Voltage) (quantity.Current, error) {
	if err := quantity.CheckRange("replace.RatedCurrent", "rating", float64(va), 1, 1000, "VA"); err != nil {
		return 0, err
	}
	if err := quantity.CheckRange("replace.RatedCurrent", "voltage", float64(secondary), 5, 600, "V"); err != nil {
		return 0, err
	}
	return quantity.Current(float64(va) / float64(secondary)), nil
}

// Transformer says which of the transformers on the truck can take the place
// of the old one, best first: the least rating that does.
//
// An error is a *quantity.RangeError.
func Transformer(n TransformerNeed, truck []TransformerLabel) (Answer, error) {
	const op = "replace.Transformer"
	for _, c := range []struct {
		name          string
		value, lo, hi float64
		unit          string
	}{
		{"line voltage", float64(n.Line), 100, 300, "V"},
		{"load", float64(n.Load), 1, 200, "VA"},
		{"old rating", float64(n.Old), 0, 200, "VA"},
		{"fuse", float64(n.Fuse), 0, 10, "A"},
	} {
		if err := quantity.CheckRange(op, c.name, c.value, c.lo, c.hi, c.unit); err != nil {
			return Answer{}, err
		}
	}
	var a Answer
	if n.Load > classTwoLimit {
		a.Doubts = append(a.Doubts, say("transformer-load-large", rating("load", n.Load)))
	}
	if n.Old > 0 && n.Load > n.Old {
		a.Doubts = append(a.Doubts, say("transformer-was-small", rating("old", n.Old), rating("load", n.Load)))
	}
	for i := range truck {
		a.take(n.judge(i, truck[i]))
	}
	a.sort()
	a.Buy = []Sentence{say("transformer-buy", volts("line", n.Line), rating("need", n.Load))}
	a.Steps = []Step{
		{say("transformer-step-off"), []string{"prove-dead"}},
		{say("transformer-step-short"), []string{"ohms-dead-only"}},
		{say("transformer-step-tap"), []string{"prove-dead"}},
		{say("transformer-step-read"), []string{"control-near-line"}},
		{say("transformer-step-loaded"), []string{"control-near-line"}},
	}
	return a, nil
}

func (n TransformerNeed) judge(i int, l TransformerLabel) Choice {
	c := Choice{Parts: []int{i}}
	tap, off := n.tap(l)
	switch {
	case l.Secondary != secondaryVolts:
		c.refuse(say("transformer-secondary", volts("have", l.Secondary)))
	case len(l.Primary) == 0:
		c.refuse(say("transformer-tap-unread"))
	case math.Abs(off) > tapTolerance:
		c.refuse(say("transformer-tap-none", volts("line", n.Line), volts("tap", tap), volts("out", quantity.Voltage(secondaryVolts*(1+off)))))
	default:
		c.good(say("transformer-tap", volts("tap", tap), volts("line", n.Line), volts("out", quantity.Voltage(secondaryVolts*(1+off)))))
	}
	if l.VA < n.Load {
		c.refuse(say("transformer-small", rating("have", l.VA), rating("need", n.Load)))
	} else {
		c.good(say("transformer-rating", rating("have", l.VA), rating("need", n.Load)))
	}
	if l.VA > classTwoLimit || !l.Class2 {
		c.refuse(say("transformer-class"))
	}
	if c.Grade != Refused {
		c.demand = float64(l.VA) / 1e3 // the smaller first
		n.protection(&c, l)
	}
	if len(l.Primary) > 1 {
		c.watch(0, say("transformer-cap-taps"), "prove-dead")
	}
	return c
}

// protection wants a fuse in the secondary, on the transformer or beside it.
func (n TransformerNeed) protection(c *Choice, l TransformerLabel) {
	most := quantity.Current(float64(l.VA) / secondaryVolts)
	switch {
	case l.Protected:
		c.good(say("transformer-protected"))
	case n.Fuse > 0:
		c.good(say("transformer-board-fuse", amps("fuse", n.Fuse)))
	default:
		c.note(slight, say("transformer-add-fuse", amps("rated", most)), "fuse-size")
	}
	if n.Old > 0 && l.VA > n.Old {
		c.watch(slight, say("transformer-larger", rating("have", l.VA), rating("old", n.Old)), "fuse-size")
	}
}

// tap returns the tap nearest to the line in proportion, and by how much its
// secondary is off.
func (n TransformerNeed) tap(l TransformerLabel) (tap quantity.Voltage, off float64) {
	off = math.Inf(1)
	for _, t := range l.Primary {
		if t <= 0 {
			continue
		}
		if d := float64(n.Line/t) - 1; math.Abs(d) < math.Abs(off) {
			tap, off = t, d
		}
	}
	return tap, off
}
