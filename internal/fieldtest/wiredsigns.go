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

// gainAfter is how long after a device begins to work a gain is read, in glances
// of a second.
// practice: who watches the analyser waits some seconds for it to follow
const gainAfter = 15

// wiredGain is a probe of what a quantity does when a device begins to work while
// a flag holds: some seconds later against the last time that the device did
// not.
func wiredGain(d *system.Description, p *Point, args []string) (probe, bool, error) {
	if len(args) != 3 {
		return probe{}, false, fmt.Errorf("gain: want a quantity, a device and a flag, have %v", args)
	}
	q, scale, _, ok, err := quantityOf(d, p, args[:1])
	if err != nil || !ok {
		return probe{}, false, err
	}
	works, err1 := d.Condition(args[1])
	holds, err2 := d.Condition(args[2])
	return probe{
		watched: true, glanced: true,
		look: func(x *system.Play, s *sight) {
			if s.seen || !x.Holds(holds) {
				return
			}
			v, _ := x.Quantity(q.Name)
			if !x.Holds(works) {
				s.worked, s.last, s.held = true, v*scale, 0
			} else if s.held++; s.worked && s.held == gainAfter {
				s.most, s.seen = v*scale-s.last, true
			}
		},
		outcome: func(s *sight, _ *system.Play) Outcome {
			if !s.seen {
				return Outcome{}
			}
			return value(s.most)
		},
	}, err1 == nil && err2 == nil, nil
}

// sign is a word that a point says when conditions hold together.
type sign struct {
	word int
	when []system.Condition
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
		watched: true, glanced: true,
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
		s := sign{word: i}
		for _, text := range strings.Split(when, ",") {
			c, err := d.Condition(text)
			if err != nil {
				return nil, false, nil
			}
			s.when = append(s.when, c)
		}
		signs = append(signs, s)
	}
	return signs, len(signs) > 0, nil
}

func together(x *system.Play, when []system.Condition) bool {
	for _, c := range when {
		if !x.Holds(c) {
			return false
		}
	}
	return true
}

// humming is the least current of a motor that is heard though it stands, A.
// practice: a fan motor of a unit draws an amp; a crankcase heater a sixth of one
const humming = 0.5

// wiredStarts tells a motor that turns from one that hums until its protector
// opens, and from one that does nothing.
func wiredStarts(d *system.Description, p *Point, args []string) (probe, bool, error) {
	v, ok, err := theDevice(d, args)
	if err == nil {
		err = tells(p, wordRunning, "hums-then-stops", "silent")
	}
	return probe{
		watched: true,
		look: func(x *system.Play, s *sight) {
			s.works = x.Works(v.ID)
			i, _ := x.Amps(v.ID)
			s.rested = s.rested || !s.works && i > humming
		},
		outcome: func(s *sight, _ *system.Play) Outcome {
			said := "silent"
			if s.works {
				said = wordRunning
			} else if s.rested {
				said = "hums-then-stops"
			}
			i, _ := p.Word(said)
			return word(i)
		},
	}, ok && v.Kind == system.Motor, err
}
