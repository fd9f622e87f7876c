package replace

import (
	"math"

	"rung/internal/quantity"
)

// capacitorMatch compares cans with what is wanted.
type capacitorMatch struct {
	CapacitorNeed
	want  CapacitorLabel
	truck []CapacitorLabel
}

// How much a note counts against a choice among those that fit with a note.
const (
	slight    = 1.0
	makeshift = 10.0
)

// section says how a rated value suits a wanted one.
func (m *capacitorMatch) section(wanted, rated quantity.Capacitance) (same, within bool) {
	low, high := m.want.Band(wanted)
	same = math.Abs(float64(rated/wanted)-1) <= sameValue
	return same, same || low <= rated && rated <= high
}

// single judges one can on its own.
func (m *capacitorMatch) single(i int) Choice {
	l := m.truck[i]
	c := Choice{Parts: []int{i}}
	m.common(&c, l)
	switch {
	case c.Grade == Refused:
	case m.want.Dual() && !l.Dual():
		if _, within := m.section(m.want.Capacitance, l.Capacitance); within {
			c.refuse(say("cap-single-for-dual-herm", microfarads("fan", m.want.Fan)))
		} else if _, within := m.section(m.want.Fan, l.Capacitance); within {
			c.refuse(say("cap-single-for-dual-fan", microfarads("herm", m.want.Capacitance)))
		} else {
			m.wrongValue(&c, m.want.Capacitance, l.Capacitance)
		}
	case m.want.Dual():
		m.value(&c, "herm", m.want.Capacitance, l.Capacitance)
		m.value(&c, "fan", m.want.Fan, l.Fan)
	case l.Dual():
		m.oneOfTwo(&c, l)
	default:
		m.value(&c, "only", m.want.Capacitance, l.Capacitance)
	}
	m.mounting(&c, l)
	return c
}

// common refuses what can never stand in.
func (m *capacitorMatch) common(c *Choice, l CapacitorLabel) {
	switch {
	case l.Start:
		c.refuse(say("cap-start"))
	case l.Capacitance == 0:
		c.refuse(say("cap-label-unread"))
	case l.Volts == 0:
		c.refuse(say("cap-volts-unread"))
	case l.Volts < m.want.Volts:
		c.refuse(say("cap-volts-low", volts("have", l.Volts), volts("need", m.want.Volts)))
	}
}

// value compares one section.
func (m *capacitorMatch) value(c *Choice, section string, wanted, rated quantity.Capacitance) {
	same, within := m.section(wanted, rated)
	switch {
	case same:
		c.good(say("cap-same", word("section", section), microfarads("value", rated)))
	case within:
		low, high := m.want.Band(wanted)
		c.good(say("cap-near", word("section", section), microfarads("value", rated), microfarads("need", wanted)))
		c.note(slight+100*math.Abs(float64(rated/wanted)-1),
			say("cap-measure-first", microfarads("low", low), microfarads("high", high)))
	default:
		m.wrongValue(c, wanted, rated)
	}
}

func (m *capacitorMatch) wrongValue(c *Choice, wanted, rated quantity.Capacitance) {
	low, high := m.want.Band(wanted)
	c.refuse(say("cap-value", microfarads("have", rated), microfarads("need", wanted), microfarads("low", low), microfarads("high", high)))
}

// oneOfTwo uses one section of a dual where a single is wanted.
func (m *capacitorMatch) oneOfTwo(c *Choice, l CapacitorLabel) {
	_, herm := m.section(m.want.Capacitance, l.Capacitance)
	_, fan := m.section(m.want.Capacitance, l.Fan)
	switch {
	case herm:
		m.value(c, "herm", m.want.Capacitance, l.Capacitance)
		c.note(2*slight, say("cap-section-unused", word("section", "fan")), "capacitor-charge")
	case fan:
		m.value(c, "fan", m.want.Capacitance, l.Fan)
		c.note(3*slight, say("cap-section-unused", word("section", "herm")), "capacitor-charge")
	default:
		_, sum := m.section(m.want.Capacitance, l.Capacitance+l.Fan)
		if !sum {
			m.wrongValue(c, m.want.Capacitance, l.Capacitance)
			return
		}
		m.value(c, "both", m.want.Capacitance, l.Capacitance+l.Fan)
		c.note(2*makeshift, say("cap-sections-parallel"), "capacitor-charge", "prove-dead")
	}
}

// mounting looks at height, strap and blades.
func (m *capacitorMatch) mounting(c *Choice, l CapacitorLabel) {
	if c.Grade == Refused {
		return
	}
	if l.Volts > m.want.Volts {
		c.good(say("cap-volts-higher", volts("have", l.Volts), volts("need", m.want.Volts)))
	} else {
		c.good(say("cap-volts-same", volts("have", l.Volts)))
	}
	switch {
	case m.Room > 0 && l.Height > m.Room:
		c.refuse(say("cap-too-tall", length("have", l.Height), length("room", m.Room)))
		return
	case l.Volts > m.want.Volts && (m.Room == 0 || l.Height == 0):
		c.watch(0.1*slight, say("cap-look-height"))
	}
	if m.Label.Case != "" && l.Case != "" && l.Case != m.Label.Case {
		c.note(slight, say("cap-strap", word("have", string(l.Case)), word("old", string(m.Label.Case))))
	}
	if m.Posts > 0 && l.Posts > 0 && l.Posts < m.Posts {
		c.note(slight, say("cap-posts", count("have", l.Posts), count("need", m.Posts)))
	}
}

// pairs tries two cans together: two singles for a dual, or in parallel.
func (m *capacitorMatch) pairs(a *Answer) {
	for i := range m.truck {
		for j := range m.truck {
			if i == j || !m.canPair(i) || !m.canPair(j) {
				continue
			}
			if m.want.Dual() {
				m.twoForDual(a, i, j)
			} else if i < j {
				m.parallel(a, i, j)
			}
		}
	}
}

func (m *capacitorMatch) canPair(i int) bool {
	l := m.truck[i]
	return !l.Start && !l.Dual() && l.Capacitance > 0 && l.Volts >= m.want.Volts
}

func (m *capacitorMatch) twoForDual(a *Answer, herm, fan int) {
	h, f := m.truck[herm], m.truck[fan]
	_, hermFits := m.section(m.want.Capacitance, h.Capacitance)
	_, fanFits := m.section(m.want.Fan, f.Capacitance)
	if !hermFits || !fanFits {
		return
	}
	c := Choice{Parts: []int{herm, fan}}
	m.value(&c, "herm", m.want.Capacitance, h.Capacitance)
	m.value(&c, "fan", m.want.Fan, f.Capacitance)
	c.note(makeshift/2, say("cap-two-singles"), "capacitor-charge", "prove-dead")
	m.mounting(&c, h)
	m.mounting(&c, f)
	a.take(c)
}

// parallel makes an odd value of two cans. It is a way to get through the
// night, so it is offered only where no single can fits.
func (m *capacitorMatch) parallel(a *Answer, i, j int) {
	sum := m.truck[i].Capacitance + m.truck[j].Capacitance
	_, within := m.section(m.want.Capacitance, sum)
	if !within || a.hasWhole() {
		return
	}
	c := Choice{Parts: []int{i, j}}
	m.value(&c, "both", m.want.Capacitance, sum)
	c.note(2*makeshift, say("cap-parallel", microfarads("one", m.truck[i].Capacitance), microfarads("other", m.truck[j].Capacitance)),
		"capacitor-charge", "prove-dead")
	m.mounting(&c, m.truck[i])
	m.mounting(&c, m.truck[j])
	a.take(c)
}

// hasWhole says whether one can on its own does.
func (a *Answer) hasWhole() bool {
	for _, c := range a.Choices {
		if len(c.Parts) == 1 && c.demand < makeshift {
			return true
		}
	}
	return false
}

func (m *capacitorMatch) buy() []Sentence {
	if m.want.Dual() {
		return []Sentence{say("cap-buy-dual", microfarads("herm", m.want.Capacitance), microfarads("fan", m.want.Fan), volts("volts", m.want.Volts))}
	}
	return []Sentence{say("cap-buy", microfarads("value", m.want.Capacitance), volts("volts", m.want.Volts))}
}

func (m *capacitorMatch) steps() []Step {
	steps := []Step{
		{say("cap-step-off"), []string{"prove-dead", "capacitor-charge"}},
		{say("cap-step-picture"), nil},
	}
	if m.want.Dual() {
		steps = append(steps, Step{say("cap-step-dual"), nil})
	}
	return append(steps,
		Step{say("cap-step-fasten"), nil},
		Step{say("cap-step-read"), []string{"live-line", "moving-fan"}},
		Step{say("cap-step-why"), nil},
	)
}
