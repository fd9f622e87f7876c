package system

import (
	"bufio"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"
)

// parse reads a description. Every line begins with a keyword; "#" begins a
// comment, a text with blanks stands in quotes. Lines that belong to a board, a
// mode, a quantity, a flag or a ladder follow it.
//
//	system ID                        the kind of system
//	include PART [PREFIX SUFFIX]     the lines of data/part/PART.txt stand here; "$" in them is
//	                                 the prefix of ids, "~" the suffix of labels and places
//	name[.LANGUAGE] TEXT
//	point ID "LABEL" WHERE [line|bare]
//	KIND ID "LABEL" POINT POINT [POINT POINT] [key=value ...]
//	set DEVICE key=value ...         more values of a device above, as of a part
//	set VALUE X                      another number or formula for a value above
//	board ID "LABEL" supply=POINT,POINT least=V [loses=S returns=S]
//	input NAME POINT,POINT least=V    or    input NAME told=CONDITION
//	mode NAME "LABEL" [on=CONTACT,CONTACT]
//	to MODE [after=S] [if=INPUT,!INPUT]
//	call ID "LABEL" [demand=cool|heat] CONTACT[@S] ...  each closes S seconds after the call begins; what it asks
//	                                 for, where its id is not that word
//	value NAME X UNIT                 or    value NAME FORMULA(ARG,ARG) UNIT: see formula.go; an ARG is a value above or a number
//	quantity NAME "LABEL" unit=U rest=X lag=S     X may be the name of a value
//	add X if=CONDITION,CONDITION [by=LOAD]        X may be the name of a value, with or without "-"; by: for each watt that the load draws
//	flag NAME "LABEL" lights=CONDITION,... holds=CONDITION,...
//	ladder "NAME" POINT POINT
//	rung "LABEL" DEVICE ...
//	step CONDITION or DEVICE:open|closed   one step of the written sequence of the first call
//	sequence CALL                    the steps that follow are those of this call
//
// The values of a device by its kind; ohms= of any conductor or contact is what
// it has closed:
//
//	source       volts= ohms=              the sign is the phase: two legs are 120 and -120
//	switch       normal=open               what a hand moves; a call may close one that is open
//	thermostat   supply=POINT,POINT least=V
//	limit        sense=QUANTITY opens=X closes=X reset=manual
//	fuse         amps= curve=time-delay    without a curve the blade of a board
//	breaker      amps= with=BREAKER        opens together with one before it
//	overload     amps=                     of the motor behind it, at load
//	coil         inrush=Z sealed=Z pull-in=V drop-out=V operate= on-delay= off-delay= lock-out= (s)
//	contact      of=COIL or BOARD normal=closed
//	load         ohms=Z, or volts= watts= pf=; on=V from which it works
//	motor        use= watts= volts= torque=K run-ohms= start-ohms=    points R, C, S; see circuit.SelectMotor
//	             full=CONDITION eased=K    without the condition its load is K of the full one
//	             torque=VALUE              the same from the air side
//	             starting=K                torque to overcome at rest, of that at load
//	capacitor    uf=
//	transformer  volts= va=                points of the primary, then of the secondary
//
// A CONDITION is DEVICE (it has its voltage, or turns), FLAG, QUANTITY>=X or
// QUANTITY<=X, the same of a VALUE, LOAD>=V or LOAD<=V (the voltage at it),
// DEVICE:closed or DEVICE:open (it conducts or not); "!" before it means not.
func parse(file, text string) (*Description, error) {
	r := reader{d: &Description{Texts: map[string]string{}}}
	if err := r.text(file, text); err != nil {
		return nil, err
	}
	if err := r.d.check(); err != nil {
		return nil, fmt.Errorf("%s: %w", file, err)
	}
	return r.d, nil
}

func (r *reader) text(file, text string) error {
	sc := bufio.NewScanner(strings.NewReader(text))
	for n := 1; sc.Scan(); n++ {
		words, err := split(sc.Text())
		if err == nil && len(words) > 0 {
			r.number = n
			err = r.line(words)
		}
		if err != nil {
			return fmt.Errorf("%s:%d: %w", file, n, err)
		}
	}
	return nil
}

// split cuts a line into words; a text in quotes is one.
func split(line string) ([]string, error) {
	var words []string
	for {
		line = strings.TrimLeft(line, " \t")
		if line == "" || line[0] == '#' {
			return words, nil
		}
		if line[0] == '"' {
			end := strings.IndexByte(line[1:], '"')
			if end < 0 {
				return nil, fmt.Errorf("a quote is not closed")
			}
			words = append(words, line[1:1+end])
			line = line[2+end:]
			continue
		}
		end := strings.IndexAny(line, " \t")
		if end < 0 {
			end = len(line)
		}
		words = append(words, line[:end])
		line = line[end:]
	}
}

type reader struct {
	d        *Description
	number   int
	sequence string // the call whose steps follow; empty for the first
}

// devices of each kind have so many points.
var pointsOf = map[Kind]int{
	Source: 2, Conductor: 2, Switch: 2, Thermostat: 2, Limit: 2, Fuse: 2, Breaker: 2, Overload: 2, Coil: 2, Contact: 2, Load: 2,
	Capacitor: 2, Motor: 3, Transformer: 4,
}

func (r *reader) line(words []string) error {
	key, rest := words[0], words[1:]
	d := r.d
	switch key {
	case "system":
		return texts(rest, &d.ID)
	case "point":
		return r.point(rest)
	case "set":
		return r.set(rest)
	case "board":
		return r.board(rest)
	case "input":
		return r.input(rest)
	case "mode":
		return r.mode(rest)
	case "to":
		return r.way(rest)
	case "call":
		return r.call(rest)
	case "include":
		return r.include(rest)
	case "value":
		return r.value(rest)
	case "quantity":
		return r.quantity(rest)
	case "add":
		return r.add(rest)
	case "flag":
		return r.flag(rest)
	case "ladder":
		d.Ladders = append(d.Ladders, Ladder{})
		l := &d.Ladders[len(d.Ladders)-1]
		return texts(rest, &l.Name, &l.Left, &l.Right)
	case "rung":
		if len(d.Ladders) == 0 || len(rest) < 2 {
			return fmt.Errorf("rung without a ladder or without devices")
		}
		l := &d.Ladders[len(d.Ladders)-1]
		l.Rungs = append(l.Rungs, Rung{Label: rest[0], Devices: rest[1:]})
		return nil
	case "step":
		return r.step(rest)
	case "sequence":
		return texts(rest, &r.sequence)
	case "name":
		return texts(rest, &d.Name)
	}
	if strings.HasPrefix(key, "name.") {
		var s string
		err := texts(rest, &s)
		d.Texts[key] = s
		return err
	}
	if n, ok := pointsOf[Kind(key)]; ok {
		return r.device(Kind(key), n, rest)
	}
	return fmt.Errorf("unknown keyword %q", key)
}

// texts reads exactly the words wanted.
func texts(words []string, into ...*string) error {
	if len(words) != len(into) {
		return fmt.Errorf("%d words, want %d", len(words), len(into))
	}
	for i, w := range words {
		*into[i] = w
	}
	return nil
}

// values reads key=value words.
func values(words []string) (map[string]string, error) {
	m := map[string]string{}
	for _, w := range words {
		k, v, ok := strings.Cut(w, "=")
		if !ok {
			k, v = w, "yes"
		}
		if _, twice := m[k]; twice {
			return nil, fmt.Errorf("%s twice", k)
		}
		m[k] = v
	}
	return m, nil
}

func list(s string) []string {
	if s == "" {
		return nil
	}
	return strings.Split(s, ",")
}

// number reads a value that must be a number, or the one given if it is absent.
func number(m map[string]string, key string, otherwise float64) (float64, error) {
	s, ok := m[key]
	if !ok {
		return otherwise, nil
	}
	x, err := strconv.ParseFloat(s, 64)
	if err != nil {
		return 0, fmt.Errorf("%s=%s is not a number", key, s)
	}
	return x, nil
}

func (r *reader) point(words []string) error {
	if len(words) < 3 {
		return fmt.Errorf("point wants an id, a label and a place")
	}
	p := Point{ID: words[0], Label: words[1], Where: words[2]}
	for _, w := range words[3:] {
		switch w {
		case "line":
			p.Line = true
		case "bare":
			p.Bare = true
		default:
			return fmt.Errorf("point: unknown word %q", w)
		}
	}
	r.d.Points = append(r.d.Points, p)
	return nil
}

func (r *reader) device(kind Kind, n int, words []string) error {
	if len(words) < 2+n {
		return fmt.Errorf("%s wants an id, a label and %d points", kind, n)
	}
	v, err := values(words[2+n:])
	r.d.Devices = append(r.d.Devices, Device{ID: words[0], Kind: kind, Label: words[1], Points: words[2 : 2+n], Values: v, line: r.number})
	return err
}

func (r *reader) set(words []string) error {
	if len(words) < 2 {
		return fmt.Errorf("set wants a device and values")
	}
	for i := range r.d.Values {
		if r.d.Values[i].Name == words[0] && len(words) == 2 {
			return r.d.Values[i].is(words[1])
		}
	}
	i := r.d.device(words[0])
	if i < 0 {
		return fmt.Errorf("set: no device %s above", words[0])
	}
	v, err := values(words[1:])
	maps.Copy(r.d.Devices[i].Values, v)
	return err
}

func (r *reader) board(words []string) error {
	if len(words) < 2 {
		return fmt.Errorf("board wants an id and a label")
	}
	v, err := values(words[2:])
	r.d.Boards = append(r.d.Boards, Board{ID: words[0], Label: words[1], Values: v, line: r.number})
	return err
}

func (r *reader) lastBoard() (*Board, error) {
	if len(r.d.Boards) == 0 {
		return nil, fmt.Errorf("before any board")
	}
	return &r.d.Boards[len(r.d.Boards)-1], nil
}

func (r *reader) input(words []string) error {
	b, err := r.lastBoard()
	if err != nil || len(words) < 2 {
		return fmt.Errorf("input wants a board, a name, and points or told=")
	}
	in := Input{Name: words[0]}
	if told, ok := strings.CutPrefix(words[1], "told="); ok {
		in.Told = told
		b.Inputs = append(b.Inputs, in)
		return nil
	}
	a, z, ok := strings.Cut(words[1], ",")
	if !ok {
		return fmt.Errorf("input %s: want two points", in.Name)
	}
	in.A, in.B = a, z
	v, err := values(words[2:])
	if err != nil {
		return err
	}
	in.Least, err = number(v, "least", 15)
	b.Inputs = append(b.Inputs, in)
	return err
}

func (r *reader) mode(words []string) error {
	b, err := r.lastBoard()
	if err != nil || len(words) < 2 {
		return fmt.Errorf("mode wants a board, a name and a label")
	}
	v, err := values(words[2:])
	b.Modes = append(b.Modes, Mode{Name: words[0], Label: words[1], On: list(v["on"]), line: r.number})
	return err
}

func (r *reader) way(words []string) error {
	b, err := r.lastBoard()
	if err != nil || len(b.Modes) == 0 || len(words) == 0 {
		return fmt.Errorf("to wants a mode before it and one to lead to")
	}
	v, err := values(words[1:])
	if err != nil {
		return err
	}
	w := Way{To: words[0]}
	if w.After, err = number(v, "after", 0); err != nil {
		return err
	}
	for _, t := range list(v["if"]) {
		name, not := strings.CutPrefix(t, "!")
		w.If = append(w.If, Term{Input: name, Not: not})
	}
	m := &b.Modes[len(b.Modes)-1]
	m.Next = append(m.Next, w)
	return nil
}

func (r *reader) quantity(words []string) error {
	if len(words) < 2 {
		return fmt.Errorf("quantity wants a name and a label")
	}
	v, err := values(words[2:])
	if err != nil {
		return err
	}
	q := Quantity{Name: words[0], Label: words[1], Unit: v["unit"]}
	if q.Rest, err = number(v, "rest", 0); err != nil {
		q.RestOf = v["rest"]
	}
	if q.Lag, err = number(v, "lag", 0); err != nil {
		return err
	}
	if !(q.Lag > 0) {
		return fmt.Errorf("quantity %s has no lag", q.Name)
	}
	r.d.Quantities = append(r.d.Quantities, q)
	return nil
}

func (r *reader) add(words []string) error {
	if len(r.d.Quantities) == 0 || len(words) < 2 {
		return fmt.Errorf("add wants a quantity before it, a number or value, and if=")
	}
	v, err := values(words[1:])
	if err != nil {
		return err
	}
	a := addOf(words[0])
	a.If, a.By = list(v["if"]), v["by"]
	if len(a.If) == 0 {
		return fmt.Errorf("add wants if=")
	}
	q := &r.d.Quantities[len(r.d.Quantities)-1]
	q.Adds = append(q.Adds, a)
	return nil
}

// addOf reads a number, or the name of a value with or without "-".
func addOf(text string) Add {
	if x, err := strconv.ParseFloat(text, 64); err == nil {
		return Add{Value: x}
	}
	if name, minus := strings.CutPrefix(text, "-"); minus {
		return Add{Value: -1, Of: name}
	}
	return Add{Value: 1, Of: text}
}

func (r *reader) flag(words []string) error {
	if len(words) < 3 {
		return fmt.Errorf("flag wants a name, a label and lights=")
	}
	v, err := values(words[2:])
	if err != nil {
		return err
	}
	f := Flag{Name: words[0], Label: words[1], Lights: list(v["lights"]), Holds: list(v["holds"])}
	if v["holds"] == "" {
		f.Holds = slices.Clone(f.Lights)
	}
	r.d.Flags = append(r.d.Flags, f)
	return nil
}

func (r *reader) call(words []string) error {
	if len(words) < 3 {
		return fmt.Errorf("call without contacts")
	}
	c := Call{ID: words[0], Label: words[1]}
	for _, w := range words[2:] {
		if demand, ok := strings.CutPrefix(w, "demand="); ok {
			c.Demand = demand
			continue
		}
		id, at, late := strings.Cut(w, "@")
		after := 0.0
		if late {
			var err error
			if after, err = strconv.ParseFloat(at, 64); err != nil || !(after >= 0) {
				return fmt.Errorf("call %s: %s is no time", c.ID, w)
			}
		}
		c.Closes, c.After = append(c.Closes, id), append(c.After, after)
	}
	r.d.Calls = append(r.d.Calls, c)
	return nil
}

func (r *reader) step(words []string) error {
	var s string
	if err := texts(words, &s); err != nil {
		return err
	}
	if r.sequence == "" {
		r.d.Sequence = append(r.d.Sequence, s)
		return nil
	}
	if r.d.Sequences == nil {
		r.d.Sequences = map[string][]string{}
	}
	r.d.Sequences[r.sequence] = append(r.d.Sequences[r.sequence], s)
	return nil
}

// include reads a part that several systems have, such as a boiler, or that one
// has twice. Its last quantity may be followed by adds of the description that
// includes it.
func (r *reader) include(words []string) error {
	part, prefix, suffix := "", "", ""
	if len(words) == 3 {
		part, prefix, suffix = words[0], words[1], words[2]
	} else if err := texts(words, &part); err != nil {
		return err
	}
	text, err := files.ReadFile("data/part/" + part + ".txt")
	if err != nil {
		return fmt.Errorf("no part %s", part)
	}
	return r.text(part, strings.NewReplacer("$", prefix, "~", suffix).Replace(string(text)))
}
