package fieldtest

import (
	"fmt"
	"strings"

	"rung/internal/system"
)

// wiredFarads is a probe of a capacitor with its leads off.
func wiredFarads(d *system.Description, _ *Point, args []string) (probe, bool, error) {
	v, ok, err := theDevice(d, args)
	b := metered(func(p *system.Play) (float64, bool) {
		c, ok := p.Capacitance(v.ID)
		return float64(c), ok
	})
	b.dead = true
	return b, ok && v.Kind == system.Capacitor, err
}

// wiredGain is a probe of what a quantity does when a device begins to work: at
// the end of the call against the last time that the device did not.
func wiredGain(d *system.Description, p *Point, args []string) (probe, bool, error) {
	if len(args) != 2 {
		return probe{}, false, fmt.Errorf("gain: want a quantity and a device, have %v", args)
	}
	q, scale, _, ok, err := quantityOf(d, p, args[:1])
	if err != nil || !ok {
		return probe{}, false, err
	}
	_, ok = d.Device(args[1])
	return probe{
		watched: true,
		look: func(x *system.Play, s *sight) {
			v, _ := x.Quantity(q.Name)
			if !x.Works(args[1]) {
				s.last = v * scale
				return
			}
			s.most, s.seen = v*scale-s.last, true
		},
		outcome: func(s *sight, _ *system.Play) Outcome {
			if !s.seen {
				return Outcome{}
			}
			return value(s.most)
		},
	}, ok, nil
}

// sign is a word that a point says when conditions hold together.
type sign struct {
	word int
	when []string
}

// wiredSays reads what the eye sees: the last of the words whose conditions held
// together at some time of the call, else the first.
func wiredSays(d *system.Description, p *Point, args []string) (probe, bool, error) {
	first, listed := p.Word(args[0])
	if !listed {
		return probe{}, false, fmt.Errorf("says: the point has no word %q", args[0])
	}
	signs, ok, err := signsOf(d, p, args[1:])
	if err != nil || !ok {
		return probe{}, false, err
	}
	return probe{
		watched: true,
		look: func(x *system.Play, s *sight) {
			for i := len(signs) - 1; i >= s.word; i-- {
				if together(x, signs[i].when) {
					s.word = i + 1
					return
				}
			}
		},
		outcome: func(s *sight, _ *system.Play) Outcome {
			if s.word == 0 {
				return word(first)
			}
			return word(signs[s.word-1].word)
		},
	}, true, nil
}

// signsOf reads WORD=CONDITION,CONDITION; ok is false if the description cannot
// answer one of the conditions.
func signsOf(d *system.Description, p *Point, pairs []string) (signs []sign, ok bool, err error) {
	for _, pair := range pairs {
		w, when, split := strings.Cut(pair, "=")
		i, listed := p.Word(w)
		if !split || !listed {
			return nil, false, fmt.Errorf("says: %q, want WORD=CONDITION,CONDITION of the words of the point", pair)
		}
		s := sign{word: i, when: strings.Split(when, ",")}
		for _, c := range s.when {
			if d.Reads(c) != nil {
				return nil, false, nil
			}
		}
		signs = append(signs, s)
	}
	return signs, len(signs) > 0, nil
}

func together(x *system.Play, when []string) bool {
	for _, c := range when {
		if is, err := x.Holds(c); err != nil || !is {
			return false
		}
	}
	return true
}
