package visit

import (
	"fmt"
	"slices"
	"strings"
	"sync"

	"rung/internal/diagnosis"
	"rung/internal/fault"
)

// misreading is a wrong belief that a reading invites: data/misreadings.txt.
type misreading struct {
	id   string
	at   []diagnosis.Ref
	when string
	text fault.Text
}

var misreadings = sync.OnceValue(func() []misreading { return readMisreadings(readData("misreadings.txt")) })

// equalPressures is the misreading that a reading of equal pressures invites.
func equalPressures() misreading {
	i := slices.IndexFunc(misreadings(), func(m misreading) bool { return m.when == "equal" })
	return misreadings()[i]
}

func readMisreadings(f fault.File) []misreading {
	keys := map[string]fault.Key[misreading]{
		"at": {Must: true, Set: func(m *misreading, s string) error {
			for _, word := range strings.Fields(s) {
				part := strings.Split(word, "/")
				if len(part) != 3 {
					return fmt.Errorf("%q, want check/point/demand", word)
				}
				m.at = append(m.at, diagnosis.Ref{Check: part[0], Point: part[1], Demand: diagnosis.Demand(part[2])})
			}
			return nil
		}},
		"when": {Must: true, Set: func(m *misreading, s string) error {
			if _, known := situations[s]; !known {
				return fmt.Errorf("no situation %q", s)
			}
			m.when = s
			return nil
		}},
		"text":    fault.Required(fault.InWords(func(m *misreading) *string { return &m.text.EN })),
		"text.es": fault.Required(fault.InWords(func(m *misreading) *string { return &m.text.ES })),
	}
	var list []misreading
	for _, b := range f.Blocks {
		m := misreading{id: b.ID}
		mustDecode(f, b, keys, &m)
		list = append(list, m)
	}
	return list
}

// situations says from the predictions whether a reading is in the situation
// in which it misleads.
var situations = map[string]func(d *desk, r diagnosis.Reading, expect []Expect) bool{
	"equal": func(d *desk, _ diagnosis.Reading, _ []Expect) bool {
		return slices.ContainsFunc(d.advice.Warnings, func(w diagnosis.Warning) bool { return w.Kind == diagnosis.WarnEqualPressures })
	},
	"odd": func(d *desk, r diagnosis.Reading, expect []Expect) bool { return !d.fits(r, expect[0]) },
	"sound-too": func(d *desk, r diagnosis.Reading, expect []Expect) bool {
		return d.fits(r, expect[0]) && d.shared(r, expect, func(string) bool { return true })
	},
	"low-shared": func(d *desk, r diagnosis.Reading, expect []Expect) bool {
		return r.Kind == isValue && expect[0].Number && r.Value < expect[0].Low && d.shared(r, expect, d.notCharge)
	},
}

// worthNaming is the probability from which a cause counts as one that shows a
// reading as well. practice: one in fifty.
const worthNaming = 0.02

// shared reports whether a fault that stands would show the reading as well.
func (d *desk) shared(r diagnosis.Reading, expect []Expect, counts func(cause string) bool) bool {
	odds := oddsOf(d.advice)
	return slices.ContainsFunc(expect[1:], func(x Expect) bool {
		return odds[x.Cause] >= worthNaming && counts(x.Cause) && d.fits(r, x)
	})
}

// notCharge reports whether a cause is a fault that is no matter of the charge.
func (d *desk) notCharge(id string) bool {
	f, known := d.faults.Fault(id)
	return known && !f.Charge
}

// truth says what a reading truly says, where it invites a wrong belief; empty
// where it does not. Expect is what was expected of it, healthy first; that of the
// causes is asked again, for those that lead now.
func (d *desk) truth(r diagnosis.Reading, expect []Expect) (string, error) {
	if len(expect) == 0 || expect[0].Cause != Healthy {
		return "", nil
	}
	for _, m := range misreadings() {
		if !slices.Contains(m.at, r.Ref) {
			continue
		}
		now, err := d.expectedNow(r.Ref, expect[0])
		if err != nil {
			return "", err
		}
		if situations[m.when](d, r, now) {
			return d.text(m.text), nil
		}
	}
	return "", nil
}

// expectedNow returns what was expected of a sound system, and what of the causes that lead now.
func (d *desk) expectedNow(ref diagnosis.Ref, sound Expect) ([]Expect, error) {
	p, _ := d.point(ref)
	all, err := d.reasoner.Card(d.c, ref)
	if err != nil {
		return nil, fmt.Errorf("what %s may say: %w", ref.Check, err)
	}
	list := []Expect{sound}
	for _, e := range all {
		if e.Cause != Healthy {
			list = append(list, d.expect(p, e))
		}
	}
	return list, nil
}

// truths returns what the readings truly say, each once, but for equal
// pressures, of which the reasoner warns by itself.
func (d *desk) truths(x *EffectDetail) []string {
	if x == nil {
		return nil
	}
	var list []string
	for _, p := range x.Points {
		if p.Truth != "" && p.Truth != d.text(equalPressures().text) && !slices.Contains(list, p.Truth) {
			list = append(list, p.Truth)
		}
	}
	return list
}
