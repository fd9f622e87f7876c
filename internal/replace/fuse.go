package replace

import "rung/internal/quantity"

// FusePlace is what a fuse protects.
type FusePlace string

// The places.
const (
	ControlFuse FusePlace = "control-fuse" // 24 V, on the board
	LineFuse    FusePlace = "line-fuse"    // in the disconnect
)

// FuseLabel is what is printed on a fuse.
type FuseLabel struct {
	Name      string
	Place     FusePlace // blade fuse or cartridge
	Amps      quantity.Current
	Volts     quantity.Voltage
	TimeDelay bool
}

// FuseNeed is what is to be replaced.
type FuseNeed struct {
	Place   FusePlace
	Printed quantity.Current // on the board, or the maximum on the plate of the unit
	Old     quantity.Current // of the fuse that was found; 0: none or not read
	Least   quantity.Current // minimum on the plate, or minimum circuit ampacity; 0: not known
	Volts   quantity.Voltage // of the circuit
}

// Fuse says which of the fuses on the truck may be put in. A fuse is never
// larger than what is printed, whatever was found in its place.
//
// An error is a *quantity.RangeError: what is printed must be known.
func Fuse(n FuseNeed, truck []FuseLabel) (Answer, error) {
	const op = "replace.Fuse"
	most := 10.0 // A, practice: 3 and 5 A are usual on boards
	if n.Place == LineFuse {
		most = 200
	}
	if err := quantity.CheckRange(op, "printed amps", float64(n.Printed), 0.5, most, "A"); err != nil {
		return Answer{}, err
	}
	if err := quantity.CheckRange(op, "minimum amps", float64(n.Least), 0, float64(n.Printed), "A"); err != nil {
		return Answer{}, err
	}
	var a Answer
	if n.Old > n.Printed {
		a.Doubts = append(a.Doubts, say("fuse-was-large", amps("old", n.Old), amps("printed", n.Printed)))
	}
	for i := range truck {
		a.take(n.judge(i, truck[i]))
	}
	a.sort()
	if n.Place == ControlFuse {
		a.Buy = []Sentence{say("fuse-buy-control", amps("printed", n.Printed))}
		a.Steps = []Step{
			{say("fuse-step-find"), []string{"ohms-dead-only", "fuse-size"}},
			{say("fuse-step-once"), []string{"fuse-size", "control-near-line"}},
		}
		return a, nil
	}
	a.Buy = []Sentence{say("fuse-buy-line", amps("printed", n.Printed), volts("volts", n.Volts))}
	a.Steps = []Step{
		{say("fuse-step-both"), []string{"prove-dead"}},
		{say("fuse-step-ground"), []string{"ohms-dead-only", "breaker-reset"}},
		{say("fuse-step-clips"), []string{"prove-dead"}},
	}
	return a, nil
}

func (n FuseNeed) judge(i int, l FuseLabel) Choice {
	c := Choice{Parts: []int{i}}
	switch {
	case l.Place != n.Place:
		c.refuse(say("fuse-kind", word("have", string(l.Place)), word("need", string(n.Place))))
	case l.Amps <= 0:
		c.refuse(say("fuse-unread"))
	case l.Amps > n.Printed:
		c.refuse(say("fuse-large", amps("have", l.Amps), amps("printed", n.Printed)))
	case l.Amps == n.Printed:
		c.good(say("fuse-same", amps("have", l.Amps)))
	case n.Least > 0 && l.Amps < n.Least:
		c.refuse(say("fuse-small", amps("have", l.Amps), amps("least", n.Least)))
	case n.Place == ControlFuse:
		c.note(float64(n.Printed-l.Amps), say("fuse-smaller-control", amps("have", l.Amps), amps("printed", n.Printed)), "fuse-size")
	default:
		c.good(say("fuse-between", amps("have", l.Amps), amps("printed", n.Printed)))
		c.demand = float64(n.Printed-l.Amps) / 100
	}
	if n.Place != LineFuse {
		return c
	}
	switch {
	case l.Volts < n.Volts:
		c.refuse(say("fuse-volts", volts("have", l.Volts), volts("need", n.Volts)))
	case !l.TimeDelay:
		c.refuse(say("fuse-fast"))
	default:
		c.good(say("fuse-delay"))
	}
	return c
}
