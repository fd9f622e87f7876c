package visit

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rung/internal/ledger"
	"rung/internal/system"
)

// houseOf returns what the plates of a system's units change of its
// description, as edits, one in a line.
func houseOf(d *system.Description, x *ledger.System) string {
	var edits []string
	set := func(name string, si float64) {
		edits = append(edits, "set "+name+" "+strconv.FormatFloat(si, 'g', 6, 64))
	}
	for _, u := range x.Units {
		for _, f := range plateFields() {
			v, known := u.Plate[f.id]
			if f.sets == nil || !known || !slices.Contains(f.on, u.Kind) {
				continue
			}
			si, ok := inSI(f.dim, v.AsRead, standardAir)
			usual, has := d.Number(f.sets[0])
			if !ok || !has {
				continue
			}
			for _, name := range f.sets {
				if _, has := d.Number(name); has {
					set(name, si)
				}
			}
			for _, name := range f.scales {
				if y, has := d.Number(name); has {
					set(name, y*si/usual)
				}
			}
		}
	}
	return strings.Join(edits, "\n")
}

// describe returns the description of a kind of system as it stands in a house.
func describe(kind, house string) (*system.Description, error) {
	d, known := system.Describe(kind)
	if !known {
		return nil, fmt.Errorf("no described system %q", kind)
	}
	var edits []system.Edit
	for _, line := range strings.Split(house, "\n") {
		if line == "" {
			continue
		}
		e, err := system.ParseEdit(line)
		if err != nil {
			return nil, err
		}
		edits = append(edits, e)
	}
	return d.With(edits...)
}
