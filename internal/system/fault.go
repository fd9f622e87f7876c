package system

import (
	"bufio"
	"cmp"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rung/internal/quantity"
)

// Fault is what can be wrong with a system: a list of edits.
type Fault struct {
	ID, Name string
	Texts    map[string]string // name.es and the like
	Edits    []Edit            // in the middle of its severities, or of the first span of them

	degrees []degree
	// Inherited says that the fault is listed with another system that has the
	// same part, and its cases of readings too.
	Inherited bool
}

// degree is a range of an edit: one of its words lies between two ends, or in
// one of several such spans.
type degree struct {
	edit, word int
	spans      [][2]float64
}

// HasDegrees tells whether the fault has more severities than one.
func (f *Fault) HasDegrees() bool { return len(f.degrees) > 0 }

// EditsAt returns the edits at a quantile of the fault's severity, 0 to 1, even
// over each range of its edits; a *quantity.RangeError outside. A fault without
// degrees is the same at all.
func (f *Fault) EditsAt(u float64) ([]Edit, error) {
	if err := quantity.CheckRange("system.EditsAt", "quantile", u, 0, 1, ""); err != nil {
		return nil, err
	}
	if !f.HasDegrees() {
		return f.Edits, nil
	}
	all := make([]Edit, len(f.Edits))
	for i, e := range f.Edits {
		all[i] = slices.Clone(e)
	}
	for _, g := range f.degrees {
		all[g.edit][g.word] = strconv.FormatFloat(g.at(u), 'g', -1, 64)
	}
	return all, nil
}

// at returns the number at a quantile: the spans have equal shares of it.
func (g *degree) at(u float64) float64 {
	n := float64(len(g.spans))
	k := min(int(u*n), len(g.spans)-1)
	s := g.spans[k]
	return s[0] + (s[1]-s[0])*(u*n-float64(k))
}

// degreeOf reads "0.2..0.5", or "400..700|1100..1400"; ok is false of any other word.
func degreeOf(word string) (spans [][2]float64, ok bool, err error) {
	if !strings.Contains(word, "..") {
		return nil, false, nil
	}
	for _, part := range strings.Split(word, "|") {
		low, high, _ := strings.Cut(part, "..")
		a, err1 := strconv.ParseFloat(low, 64)
		b, err2 := strconv.ParseFloat(high, 64)
		if err1 != nil || err2 != nil || !(a < b) {
			return nil, true, fmt.Errorf("%s is no range", word)
		}
		spans = append(spans, [2]float64{a, b})
	}
	return spans, true, nil
}

// parseFaults reads the faults of a system:
//
//	fault ID "NAME"
//	name.LANGUAGE "TEXT"
//	edit ...            see Edit; one line each. A number may be a range of severities, 0.2..0.5,
//	                    or several with "|" between them: see EditsAt
//	faults-of SYSTEM [without=ID,ID]   also the faults of another system, where their edits fit
//
// The edits of every fault must fit the system; that it can be built with them
// is tested.
func parseFaults(file, text string, d *Description) ([]Fault, error) {
	var list []Fault
	sc := bufio.NewScanner(strings.NewReader(text))
	for n := 1; sc.Scan(); n++ {
		words, err := split(sc.Text())
		switch {
		case err != nil || len(words) == 0:
		case words[0] == "faults-of":
			err = d.inherits(words[1:])
		default:
			list, err = faultLine(list, words)
		}
		if err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, n, err)
		}
	}
	seen := map[string]bool{}
	for _, f := range list {
		if len(f.Edits) == 0 || seen[f.ID] {
			return nil, fmt.Errorf("%s: fault %s twice, or without an edit", file, f.ID)
		}
		seen[f.ID] = true
		if err := f.fits(d); err != nil {
			return nil, fmt.Errorf("%s: fault %s: %w", file, f.ID, err)
		}
	}
	return list, nil
}

// heritage is a system whose faults another has too, without some of them.
type heritage struct {
	of      string
	without []string
}

// inherits reads "SYSTEM [without=ID,ID]".
func (d *Description) inherits(words []string) error {
	if len(words) < 1 || len(words) > 2 {
		return fmt.Errorf("faults-of wants a system")
	}
	h := heritage{of: words[0]}
	if len(words) == 2 {
		names, ok := strings.CutPrefix(words[1], "without=")
		if !ok {
			return fmt.Errorf("faults-of: %q, want without=ID,ID", words[1])
		}
		h.without = list(names)
	}
	d.heritage = append(d.heritage, h)
	return nil
}

// inherit adds the faults of other systems that this one has too: those whose
// edits name parts that it has.
func (d *Description) inherit(all map[string]*Description) error {
	for _, h := range d.heritage {
		from, ok := all[h.of]
		if !ok {
			return fmt.Errorf("%s: no system %s to have faults of", d.ID, h.of)
		}
		for _, f := range from.Faults {
			_, has := d.Fault(f.ID)
			if f.Inherited || has || slices.Contains(h.without, f.ID) || f.fits(d) != nil {
				continue
			}
			f.Inherited = true
			d.Faults = append(d.Faults, f)
		}
	}
	return nil
}

func faultLine(list []Fault, words []string) ([]Fault, error) {
	if words[0] == "fault" {
		f := Fault{Texts: map[string]string{}}
		err := texts(words[1:], &f.ID, &f.Name)
		return append(list, f), err
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("%s before any fault", words[0])
	}
	f := &list[len(list)-1]
	if strings.HasPrefix(words[0], "name.") {
		var s string
		err := texts(words[1:], &s)
		f.Texts[words[0]] = s
		return list, err
	}
	if words[0] != "edit" {
		return nil, fmt.Errorf("unknown keyword %q", words[0])
	}
	e, err := ParseEdit(strings.Join(words[1:], " "))
	for i, w := range e {
		spans, ok, bad := degreeOf(w)
		if ok && bad == nil {
			f.degrees = append(f.degrees, degree{len(f.Edits), i, spans})
		}
		err = cmp.Or(err, bad)
	}
	f.Edits = append(f.Edits, e)
	if err == nil && f.HasDegrees() {
		f.Edits, err = f.EditsAt(0.5 / float64(len(f.degrees[0].spans)))
	}
	return list, err
}

// fits makes the edits on a copy of the system, at both ends of the severities.
func (f *Fault) fits(d *Description) error {
	ends := []float64{0, 1}
	if !f.HasDegrees() {
		ends = ends[:1]
	}
	for _, u := range ends {
		edits, err := f.EditsAt(u)
		if err != nil {
			return err
		}
		c, err := d.With(edits...)
		if err != nil {
			return err
		}
		if !slices.ContainsFunc(edits, func(e Edit) bool { return e[0] == "set" }) {
			continue // the figures are those of the sound system
		}
		if _, err := c.figures(); err != nil {
			return err
		}
	}
	return nil
}

// Fault returns a fault of the system.
func (d *Description) Fault(id string) (Fault, bool) {
	for _, f := range d.Faults {
		if f.ID == id {
			return f, true
		}
	}
	return Fault{}, false
}
