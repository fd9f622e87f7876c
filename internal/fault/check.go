package fault

import (
	"errors"
	"fmt"
)

// check holds the entries against each other: every id named exists. What
// only the plant or the checks can tell is tested elsewhere.
func (c *Catalogue) check() error {
	return errors.Join(c.checkFaults(), c.checkRepairs(), c.checkPairs(), c.checkFamilies(), c.checkNames())
}

// checkNames refuses two faults or pairs of one name: nobody could tell them
// apart in a list.
func (c *Catalogue) checkNames() error {
	var errs []error
	for _, lang := range []string{"en", "es"} {
		seen := map[string]string{}
		add := func(id string) {
			name, known := c.Name(id)
			if !known {
				return // told by checkPairs
			}
			if other, twice := seen[name.In(lang)]; twice {
				errs = append(errs, fmt.Errorf("%s and %s have one name, %q", other, id, name.In(lang)))
			}
			seen[name.In(lang)] = id
		}
		for _, f := range c.Faults {
			add(f.ID)
		}
		for _, p := range c.Pairs {
			add(p.ID)
		}
	}
	return errors.Join(errs...)
}

var groups = map[string]bool{"cooling": true, "control": true, "airflow": true, "refrigerant": true,
	"furnace": true, "heat-pump": true, "electric-heat": true, "hydronic": true}

func (c *Catalogue) checkFaults() error {
	var errs []error
	for i := range c.Faults {
		f := &c.Faults[i]
		if _, ok := c.Repair(f.Repair); !ok {
			errs = append(errs, fmt.Errorf("fault %s: no repair %q", f.ID, f.Repair))
		}
		if !groups[f.Group] {
			errs = append(errs, fmt.Errorf("fault %s: no group %q", f.ID, f.Group))
		}
		for id := range f.Complaints {
			if _, ok := c.Complaint(id); !ok {
				errs = append(errs, fmt.Errorf("fault %s: no complaint %q", f.ID, id))
			}
		}
		if err := c.checkInHeat(f); err != nil {
			errs = append(errs, err)
		}
		if kinds := count(f.Healthy, f.Wiring, len(f.Effects) > 0); kinds != 1 {
			errs = append(errs, fmt.Errorf("fault %s: it has effects, or it is of the wiring, or it is healthy", f.ID))
		}
		if f.Wiring && (f.SeverityText.EN != "" || len(f.When) > 0 || len(f.Unless) > 0) {
			errs = append(errs, fmt.Errorf("fault %s: severity and equipment are of the plant, and it is of the wiring", f.ID))
		}
	}
	return errors.Join(errs...)
}

// checkInHeat holds the shares of the heating season together: those of InHeat
// are of heating alone, and leave room for those of either mode.
func (c *Catalogue) checkInHeat(f *Fault) error {
	sum := 0.0
	for id, share := range f.InHeat {
		if k, ok := c.Complaint(id); !ok || k.Mode != "heat" {
			return fmt.Errorf("fault %s: in-heat names %q, no complaint of heating alone", f.ID, id)
		}
		sum += share
	}
	for id, share := range f.Complaints {
		k, ok := c.Complaint(id)
		switch {
		case !ok || k.Mode == "cool" || f.InHeat == nil:
		case k.Mode == "heat":
			return fmt.Errorf("fault %s: complaints and in-heat both name complaints of heating alone", f.ID)
		default:
			sum += share
		}
	}
	if sum > 1+1e-9 {
		return fmt.Errorf("fault %s: the shares in the heating season add up to %g, above 1", f.ID, sum)
	}
	return nil
}

// count returns how many are true.
func count(list ...bool) (n int) {
	for _, x := range list {
		if x {
			n++
		}
	}
	return n
}

func (c *Catalogue) checkRepairs() error {
	used := map[string]bool{}
	for _, f := range c.Faults {
		used[f.Repair] = true
	}
	var errs []error
	for _, r := range c.Repairs {
		if !used[r.ID] {
			errs = append(errs, fmt.Errorf("repair %s cures nothing", r.ID))
		}
		for _, id := range r.Induces {
			if _, ok := c.Fault(id); !ok {
				errs = append(errs, fmt.Errorf("repair %s: induces %q, which is no fault", r.ID, id))
			}
		}
		switch r.Invasive {
		case "", "circuit", "compressor", "board":
		default:
			errs = append(errs, fmt.Errorf("repair %s: invasive %q", r.ID, r.Invasive))
		}
		switch r.Licence {
		case "", "refrigerant", "electrician", "gas":
		default:
			errs = append(errs, fmt.Errorf("repair %s: licence %q", r.ID, r.Licence))
		}
	}
	return errors.Join(errs...)
}

func (c *Catalogue) checkPairs() error {
	var errs []error
	for _, p := range c.Pairs {
		for _, id := range []string{p.First, p.Second} {
			if _, ok := c.Fault(id); !ok {
				errs = append(errs, fmt.Errorf("pair %s: no fault %q", p.ID, id))
			}
		}
		if p.First == p.Second {
			errs = append(errs, fmt.Errorf("pair %s: a fault with itself", p.ID))
		}
	}
	return errors.Join(errs...)
}
