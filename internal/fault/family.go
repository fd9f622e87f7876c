package fault

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rung/internal/source"
)

// Family is a group of faults that age brings about alike: data/families.txt.
type Family struct {
	ID   string
	Name Text
	// Unit says whose age counts: outdoor, indoor, or either.
	Unit string
	// Shape is the shape of the Weibull hazard, 1 to 3; Origin where it comes from.
	Shape  float64
	Origin source.Source
	Faults []string
}

// Family returns the family of a fault; false if age has no part in it.
func (c *Catalogue) Family(fault string) (*Family, bool) {
	for i := range c.Families {
		if slices.Contains(c.Families[i].Faults, fault) {
			return &c.Families[i], true
		}
	}
	return nil, false
}

var familyKeys = map[string]Key[Family]{
	"name":    Required(InWords(func(f *Family) *string { return &f.Name.EN })),
	"name.es": Required(InWords(func(f *Family) *string { return &f.Name.ES })),
	"unit": {Must: true, Set: func(f *Family, s string) error {
		if s != "outdoor" && s != "indoor" && s != "either" {
			return fmt.Errorf("%q, want outdoor, indoor or either", s)
		}
		f.Unit = s
		return nil
	}},
	"shape":  {Must: true, Set: setShape},
	"faults": Required(IDs(func(f *Family) *[]string { return &f.Faults })),
}

// setShape reads "1.5 practice: why": a number and its source.
func setShape(f *Family, s string) (err error) {
	number, from, _ := strings.Cut(s, " ")
	if f.Shape, err = strconv.ParseFloat(number, 64); err != nil || !(1 <= f.Shape && f.Shape <= 3) {
		return fmt.Errorf("%q, want a shape from 1 to 3", number)
	}
	f.Origin, err = source.Parse(from)
	return err
}

// checkFamilies wants every fault named to exist, and to stand in one family.
func (c *Catalogue) checkFamilies() error {
	seen := map[string]string{}
	for _, f := range c.Families {
		for _, id := range f.Faults {
			if _, known := c.Fault(id); !known {
				return fmt.Errorf("family %s: no fault %q", f.ID, id)
			}
			if other, twice := seen[id]; twice {
				return fmt.Errorf("fault %s is of the families %s and %s", id, other, f.ID)
			}
			seen[id] = f.ID
		}
	}
	return nil
}
