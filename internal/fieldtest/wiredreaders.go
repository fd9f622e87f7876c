package fieldtest

import (
	"fmt"
	"strings"
	"time"

	"rung/internal/circuit"
	"rung/internal/quantity"
	"rung/internal/system"
)

// wirings are the kinds of reading on a described system. Each is made for a
// description; ok is false if the description lacks what it names. Before a kind
// may stand "most", for the largest reading of the call; behind it "during CALL",
// "with DEVICE", which the description must have, "while CONDITION", which must
// have held for a minute, and "at SECOND".
//
//	volts A B [low]     between two points; low with a meter of low impedance
//	amps DEVICE         through a device
//	ohms A B            between two points with the power off; "lifted DEVICE,DEVICE" after them: with these out of the circuit
//	alone DEVICE        ohms of a load, coil, conductor or contact with its leads off
//	farads DEVICE       of a capacitor with its leads off
//	runs DEVICE         words: running, comes-and-goes, stops, stopped
//	starts MOTOR        words: running, hums-then-stops, silent
//	flag FLAG           the same words of a yes or no of the heat side
//	closed DEVICE       words: closed, open
//	fuse DEVICE         words: good, blown
//	value QUANTITY      something of the heat side
//	rise QUANTITY       the same, above where it rests
//	gain QUANTITY DEVICE FLAG   by how much it is more once the device works than just before, the flag holding
//	light BOARD WORD=MODE,MODE ...   the last of the words whose mode the board was in; dead without supply
//	says WORD WORD=CONDITION,CONDITION ...   the last of the words whose conditions held together at some time; else the first
var wirings map[string]func(d *system.Description, p *Point, args []string) (probe, bool, error)

func init() {
	wirings = map[string]func(*system.Description, *Point, []string) (probe, bool, error){
		"volts": wiredVolts, "amps": wiredAmps, "ohms": wiredOhms, "alone": wiredAlone, "runs": wiredRuns, "flag": wiredFlag,
		"closed": wiredClosed, "fuse": wiredFuse, "value": wiredValue, "rise": wiredRise, "light": wiredLight,
		"farads": wiredFarads, "gain": wiredGain, "says": wiredSays, "starts": wiredStarts,
	}
}

// metered is a probe of numbers: the largest where it is watched.
func metered(read func(*system.Play) (float64, bool)) probe {
	return probe{
		look: func(p *system.Play, s *sight) {
			v, ok := read(p)
			if !ok {
				return
			}
			if !s.seen || v > s.most {
				s.most = v
			}
			s.seen = true
		},
		outcome: func(s *sight, _ *system.Play) Outcome {
			if !s.seen {
				return Outcome{}
			}
			return value(s.most)
		},
	}
}

func wiredVolts(d *system.Description, _ *Point, args []string) (probe, bool, error) {
	meter := circuit.HighImpedance
	if n := len(args); n == 3 && args[2] == "low" {
		args, meter = args[:2], circuit.LowImpedance
	}
	if len(args) != 2 {
		return probe{}, false, fmt.Errorf("volts: want two points, have %v", args)
	}
	a, b := args[0], args[1]
	return metered(func(p *system.Play) (float64, bool) {
		v, err := p.Volts(a, b, meter)
		return float64(v), err == nil
	}), hasPoints(d, args), nil
}

func hasPoints(d *system.Description, ids []string) bool {
	for _, id := range ids {
		if _, ok := d.Point(id); !ok && id != system.Ground {
			return false
		}
	}
	return true
}

// hasDevices tells whether a description has each of a list of devices.
func hasDevices(d *system.Description, list string) bool {
	for _, id := range strings.FieldsFunc(list, func(r rune) bool { return r == ',' }) {
		if _, ok := d.Device(id); !ok {
			return false
		}
	}
	return true
}

// theDevice returns the device that is the only argument.
func theDevice(d *system.Description, args []string) (system.Device, bool, error) {
	if len(args) != 1 {
		return system.Device{}, false, fmt.Errorf("want one device, have %v", args)
	}
	v, ok := d.Device(args[0])
	return v, ok, nil
}

func wiredAmps(d *system.Description, _ *Point, args []string) (probe, bool, error) {
	v, ok, err := theDevice(d, args)
	return metered(func(p *system.Play) (float64, bool) {
		i, err := p.Amps(v.ID)
		return float64(i), err == nil
	}), ok, err
}

func wiredOhms(d *system.Description, _ *Point, args []string) (probe, bool, error) {
	lifted := ""
	if n := len(args); n == 4 && args[2] == "lifted" {
		args, lifted = args[:2], args[3]
	}
	if len(args) != 2 {
		return probe{}, false, fmt.Errorf("ohms: want two points, have %v", args)
	}
	b := metered(func(p *system.Play) (float64, bool) {
		r, err := p.Ohms(args[0], args[1])
		return float64(r), err == nil
	})
	b.dead, b.lifted = true, lifted
	return b, hasPoints(d, args) && hasDevices(d, lifted), nil
}

func wiredAlone(d *system.Description, _ *Point, args []string) (probe, bool, error) {
	v, ok, err := theDevice(d, args)
	b := metered(func(p *system.Play) (float64, bool) {
		r, err := p.Resistance(v.ID)
		return float64(r), err == nil
	})
	b.dead = true
	return b, ok, err
}

// Words of what runs or holds, in the order of how well it does.
const (
	wordRunning = "running"
	wordComes   = "comes-and-goes"
	wordStops   = "stops"
	wordStopped = "stopped"
)

// insteads are the words that a point says where it lacks one: nobody tells
// coming and going from running who cannot say it.
var insteads = map[string][]string{
	wordRunning: {wordRunning, wordStops},
	wordComes:   {wordComes, wordRunning, wordStops, wordStopped},
	wordStops:   {wordStops, wordStopped},
	wordStopped: {wordStopped},
}

// patience is how long somebody waits for what has stopped to come back.
// practice: longer than a purge and a warm-up, shorter than a lockout
const patience = 2 * time.Minute

// lives is a probe of what works or not, over a whole call.
func lives(point *Point, works func(*system.Play) bool) (probe, error) {
	ranks := map[string]int{}
	for said, list := range insteads {
		i, ok := 0, false
		for k := 0; k < len(list) && !ok; k++ {
			i, ok = point.Word(list[k])
		}
		if !ok {
			return probe{}, fmt.Errorf("the point has no word for %q", said)
		}
		ranks[said] = i
	}
	return probe{
		watched: true,
		look: func(p *system.Play, s *sight) {
			is := works(p)
			s.returned = s.returned || s.rested && is
			s.rested = s.rested || s.worked && !is
			s.worked, s.works = s.worked || is, is
			if is {
				s.when = p.Time()
			}
		},
		outcome: func(s *sight, end *system.Play) Outcome {
			switch {
			case s.works && s.rested, s.returned && end.Time()-s.when < patience:
				return word(ranks[wordComes])
			case s.works:
				return word(ranks[wordRunning])
			case s.worked:
				return word(ranks[wordStops])
			}
			return word(ranks[wordStopped])
		},
	}, nil
}

func wiredRuns(d *system.Description, p *Point, args []string) (probe, bool, error) {
	v, ok, err := theDevice(d, args)
	if err != nil {
		return probe{}, false, err
	}
	b, err := lives(p, func(x *system.Play) bool { return x.Works(v.ID) })
	return b, ok, err
}

func wiredFlag(d *system.Description, p *Point, args []string) (probe, bool, error) {
	if len(args) != 1 {
		return probe{}, false, fmt.Errorf("flag: want one, have %v", args)
	}
	ok := false
	for _, f := range d.Flags {
		ok = ok || f.Name == args[0]
	}
	b, err := lives(p, func(x *system.Play) bool { return x.Flag(args[0]) })
	return b, ok, err
}

// tells checks that a point has the words it needs.
func tells(p *Point, words ...string) error {
	for _, w := range words {
		if _, ok := p.Word(w); !ok {
			return fmt.Errorf("the point has no word %q", w)
		}
	}
	return nil
}

// eitherWord is a probe of two words at the end of a call.
func eitherWord(p *Point, is func(*system.Play) bool, yes, no string) probe {
	return probe{
		look: func(x *system.Play, s *sight) { s.works = is(x) },
		outcome: func(s *sight, _ *system.Play) Outcome {
			w := no
			if s.works {
				w = yes
			}
			i, _ := p.Word(w)
			return word(i)
		},
	}
}

func wiredClosed(d *system.Description, p *Point, args []string) (probe, bool, error) {
	v, ok, err := theDevice(d, args)
	if err == nil {
		err = tells(p, "closed", "open")
	}
	return eitherWord(p, func(x *system.Play) bool { is, _ := x.Conducts(v.ID); return is }, "closed", "open"), ok, err
}

func wiredFuse(d *system.Description, p *Point, args []string) (probe, bool, error) {
	v, ok, err := theDevice(d, args)
	if err == nil {
		err = tells(p, "good", "blown")
	}
	return eitherWord(p, func(x *system.Play) bool { is, _ := x.Conducts(v.ID); return is }, "good", "blown"), ok, err
}

// quantityOf returns a quantity of the heat side and the factor and offset that
// bring its unit to SI.
func quantityOf(d *system.Description, p *Point, args []string) (q system.Quantity, scale, offset float64, ok bool, err error) {
	if len(args) != 1 {
		return q, 0, 0, false, fmt.Errorf("want one quantity, have %v", args)
	}
	for _, x := range d.Quantities {
		if x.Name != args[0] {
			continue
		}
		u, known := quantityUnits[x.Unit]
		if !known {
			return q, 0, 0, false, fmt.Errorf("quantity %s: its unit %q cannot be read", x.Name, x.Unit)
		}
		return x, u.scale, u.offset, true, nil
	}
	return q, 0, 0, false, nil
}

// quantityUnits are the units of the heat side of descriptions.
var quantityUnits = map[string]struct{ scale, offset float64 }{
	"°C": {1, 273.15}, // published: BIPM SI Brochure 9th ed., 2.3.1: exact
	"K":  {1, 0}, "m3/s": {1, 0}, "Pa": {1, 0}, "kPa": {1e3, 0}, "share": {1, 0}, "A": {1, 0}, "uA": {1e-6, 0}, "ppm": {1e-6, 0}, "%": {1e-2, 0},
}

// creeping is metered for what changes without anything happening.
func creeping(read func(*system.Play) (float64, bool)) probe {
	b := metered(read)
	b.glanced = true
	return b
}

func wiredValue(d *system.Description, p *Point, args []string) (probe, bool, error) {
	q, scale, offset, ok, err := quantityOf(d, p, args)
	if p.Dim != quantity.DimTemperature {
		offset = 0
	}
	return creeping(func(x *system.Play) (float64, bool) {
		v, ok := x.Quantity(q.Name)
		return v*scale + offset, ok
	}), ok, err
}

func wiredRise(d *system.Description, p *Point, args []string) (probe, bool, error) {
	q, scale, _, ok, err := quantityOf(d, p, args)
	return creeping(func(x *system.Play) (float64, bool) {
		v, ok := x.Quantity(q.Name)
		return (v - q.Rest) * scale, ok
	}), ok, err
}

// wiredLight reads the light of a board: the word, latest in the list, of a mode
// it has been in during the call; the first word if none; "dead" without supply.
func wiredLight(d *system.Description, p *Point, args []string) (probe, bool, error) {
	board := args[0]
	known := false
	for _, b := range d.Boards {
		known = known || b.ID == board
	}
	ranks, err := ranksOf(p, args[1:])
	return probe{
		watched: true,
		look: func(x *system.Play, s *sight) {
			s.word = max(s.word, ranks[x.Mode(board).Name])
			s.works = x.Alive(board)
		},
		outcome: func(s *sight, _ *system.Play) Outcome {
			if i, listed := p.Word("dead"); !s.works && listed {
				return word(i)
			}
			return word(s.word)
		},
	}, known, err
}

// ranksOf reads WORD=MODE,MODE pairs: the place of the word, by mode.
func ranksOf(p *Point, pairs []string) (map[string]int, error) {
	ranks := map[string]int{}
	for _, pair := range pairs {
		w, modes, ok := strings.Cut(pair, "=")
		i, listed := p.Word(w)
		if !ok || !listed {
			return nil, fmt.Errorf("light: %q, want WORD=MODE,MODE of the words of the point", pair)
		}
		for _, m := range strings.Split(modes, ",") {
			ranks[m] = i
		}
	}
	return ranks, nil
}
