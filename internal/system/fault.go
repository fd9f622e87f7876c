package system

import (
	"bufio"
	"fmt"
	"strings"
)

// Fault is what can be wrong with a system: a list of edits.
type Fault struct {
	ID, Name string
	Texts    map[string]string // name.es and the like
	Edits    []Edit
}

// parseFaults reads the faults of a system:
//
//	fault ID "NAME"
//	name.LANGUAGE "TEXT"
//	edit ...            see Edit; one line each
//
// The edits of every fault must fit the system; that it can be built with them
// is tested.
func parseFaults(file, text string, d *Description) ([]Fault, error) {
	var list []Fault
	sc := bufio.NewScanner(strings.NewReader(text))
	for n := 1; sc.Scan(); n++ {
		words, err := split(sc.Text())
		if err == nil && len(words) > 0 {
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
		c := d.clone()
		for _, e := range f.Edits {
			if err := e.apply(c); err != nil {
				return nil, fmt.Errorf("%s: fault %s: %w", file, f.ID, err)
			}
		}
	}
	return list, nil
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
	f.Edits = append(f.Edits, e)
	return list, err
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
