package replace

import (
	"rung/internal/plant"
	"rung/internal/quantity"
)

// ContactorLabel is what is printed on a contactor, and what it has.
type ContactorLabel struct {
	Name        string
	Poles       plant.ContactorPoles
	FullLoad    quantity.Current // inductive full-load rating of a pole at the unit's volts
	LockedRotor quantity.Current
	Coil        quantity.Voltage
	Coil50      bool // coil marked for 50 Hz
	Coil60      bool // coil marked for 60 Hz
	Auxiliary   int  // auxiliary contacts
}

// ContactorNeed is what the contactor has to do.
type ContactorNeed struct {
	Poles       plant.ContactorPoles // of the old one
	Compressor  quantity.Current     // rated load amps
	LockedRotor quantity.Current
	Fan         quantity.Current // full load amps through the same poles; 0 if none
	Heaters     quantity.Current // other load through the same poles
	Coil        quantity.Voltage
	Frequency   quantity.Frequency // of the supply
	Auxiliary   int                // auxiliary contacts in use
	// HeaterAcrossPole: the crankcase heater is fed across the open pole and
	// through the winding, which only a contactor with one contact lets pass.
	HeaterAcrossPole bool
}

// poleContacts is how many legs a contactor opens.
func poleContacts(p plant.ContactorPoles) int {
	switch p {
	case plant.OnePole, plant.OneAndAHalfPole:
		return 1
	case plant.TwoPole:
		return 2
	}
	return 0
}

func polesWord(p plant.ContactorPoles) string {
	return [...]string{"poles-unknown", "one-pole", "one-and-a-half-pole", "two-pole"}[p]
}

// Contactor says which of the contactors on the truck can take the place of
// the old one, best first: the more poles, the better.
//
// An error is a *quantity.RangeError: the amps of the compressor are needed.
//
// practice: poles, full-load and locked-rotor amps at least those of the load,
// same coil, same auxiliary contacts, as electrical handbooks of the trade teach.
func Contactor(n ContactorNeed, truck []ContactorLabel) (Answer, error) {
	const op = "replace.Contactor"
	for _, c := range []struct {
		name          string
		value, lo, hi float64
		unit          string
	}{
		{"rated load amps", float64(n.Compressor), 1, 60, "A"},
		{"locked rotor amps", float64(n.LockedRotor), 0, 400, "A"},
		{"fan amps", float64(n.Fan), 0, 15, "A"},
		{"other amps", float64(n.Heaters), 0, 60, "A"},
		{"coil voltage", float64(n.Coil), 20, 250, "V"},
		{"frequency", float64(n.Frequency), 45, 65, "Hz"},
	} {
		if err := quantity.CheckRange(op, c.name, c.value, c.lo, c.hi, c.unit); err != nil {
			return Answer{}, err
		}
	}
	var a Answer
	for i := range truck {
		a.take(n.judge(i, truck[i]))
	}
	a.sort()
	load := n.Compressor + n.Fan + n.Heaters
	a.Buy = []Sentence{say("contactor-buy", word("poles", polesWord(n.Poles)), amps("load", load), volts("coil", n.Coil))}
	if n.LockedRotor > 0 {
		a.Buy = append(a.Buy, say("contactor-buy-locked", amps("locked", n.LockedRotor)))
	} else {
		a.Doubts = append(a.Doubts, say("contactor-locked-unknown"))
	}
	if n.Poles == plant.UnknownPoles {
		a.Doubts = append(a.Doubts, say("contactor-poles-unknown"))
	}
	a.Steps = n.steps()
	return a, nil
}

func (n ContactorNeed) judge(i int, l ContactorLabel) Choice {
	c := Choice{Parts: []int{i}}
	n.judgePoles(&c, l)
	load := n.Compressor + n.Fan + n.Heaters
	switch {
	case l.FullLoad == 0:
		c.refuse(say("contactor-amps-unread"))
	case l.FullLoad < load:
		c.refuse(say("contactor-amps-low", amps("have", l.FullLoad), amps("need", load)))
	default:
		c.good(say("contactor-amps", amps("have", l.FullLoad), amps("need", load)))
	}
	switch {
	case n.LockedRotor == 0:
	case l.LockedRotor == 0:
		c.note(2*slight, say("contactor-locked-unread", amps("need", n.LockedRotor)))
	case l.LockedRotor < n.LockedRotor:
		c.refuse(say("contactor-locked-low", amps("have", l.LockedRotor), amps("need", n.LockedRotor)))
	default:
		c.good(say("contactor-locked", amps("have", l.LockedRotor), amps("need", n.LockedRotor)))
	}
	n.judgeCoil(&c, l)
	if l.Auxiliary < n.Auxiliary {
		c.refuse(say("contactor-auxiliary", count("have", l.Auxiliary), count("need", n.Auxiliary)))
	}
	return c
}

func (n ContactorNeed) judgePoles(c *Choice, l ContactorLabel) {
	have, need := poleContacts(l.Poles), poleContacts(n.Poles)
	switch {
	case have == 0:
		c.refuse(say("contactor-poles-unread"))
	case have < need:
		c.refuse(say("contactor-poles-few", word("have", polesWord(l.Poles)), word("need", polesWord(n.Poles))))
	case n.HeaterAcrossPole && have == 2:
		c.note(makeshift, say("contactor-heater-path"), "prove-dead")
	case n.HeaterAcrossPole:
		c.watch(0, say("contactor-heater-stays"), "prove-dead")
	case have > need && need > 0:
		c.watch(0, say("contactor-more-poles"))
	case l.Poles == plant.OnePole && n.Poles == plant.OneAndAHalfPole:
		c.note(slight, say("contactor-no-bar"), "prove-dead")
	case have == need:
		c.good(say("contactor-poles", word("have", polesWord(l.Poles))))
	}
	if have == 1 {
		c.watch(0.5*slight, say("contactor-one-leg-live"), "prove-dead")
	}
}

func (n ContactorNeed) judgeCoil(c *Choice, l ContactorLabel) {
	marked := l.Coil60
	if n.Frequency < 55 {
		marked = l.Coil50
	}
	switch {
	case l.Coil == 0:
		c.refuse(say("contactor-coil-unread"))
	case l.Coil != n.Coil:
		c.refuse(say("contactor-coil", volts("have", l.Coil), volts("need", n.Coil)))
	case (l.Coil50 || l.Coil60) && !marked:
		c.refuse(say("contactor-frequency", amount("need", quantity.DimFrequency, n.Frequency)))
	default:
		c.good(say("contactor-coil-same", volts("have", l.Coil)))
	}
}

func (n ContactorNeed) steps() []Step {
	return []Step{
		{say("contactor-step-off"), []string{"prove-dead", "capacitor-charge"}},
		{say("contactor-step-picture"), nil},
		{say("contactor-step-tight"), nil},
		{say("contactor-step-drop"), []string{"live-line"}},
		{say("contactor-step-why"), nil},
	}
}
