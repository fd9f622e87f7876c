package web

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"sync"

	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/replace"
	"rung/internal/tradeunit"
)

// label is one line of what is on the truck, as it is read off a part: numbers
// with their units and words in any order. What was understood is taken out;
// what is left must be no number.
type label struct {
	name string // before a colon: the bin
	text string // what is left, in small letters
}

// errLabel says which part of a line was not understood.
type errLabel struct{ text string }

func (e *errLabel) Error() string { return fmt.Sprintf("“%s” is not understood", e.text) }

func newLabel(line string) *label {
	l := &label{}
	if name, rest, ok := strings.Cut(line, ":"); ok {
		l.name, line = strings.TrimSpace(name), rest
	}
	l.text = strings.NewReplacer("µ", "u", "μ", "u", "–", "-", "″", "in", "\"", "in", ",", " ").Replace(strings.ToLower(line))
	return l
}

// take finds a pattern, takes it out and returns its groups; nil if it is not there.
func (l *label) take(m mark) []string {
	pattern := m()
	at := pattern.FindStringSubmatchIndex(l.text)
	if at == nil {
		return nil
	}
	groups := pattern.FindStringSubmatch(l.text)
	l.text = l.text[:at[0]] + " " + l.text[at[1]:]
	return groups
}

func (l *label) has(m mark) bool { return l.take(m) != nil }

// rest is an error if a number is left over.
func (l *label) rest() error {
	for _, word := range strings.Fields(l.text) {
		if strings.ContainsAny(word, "0123456789") {
			return &errLabel{word}
		}
	}
	return nil
}

// mark is a pattern, compiled when it is first looked for: there are dozens,
// and few calls need any.
type mark func() *regexp.Regexp

// marks are all of them, for the test that compiles them.
var marks []mark

func pattern(s string) mark {
	m := mark(sync.OnceValue(func() *regexp.Regexp { return regexp.MustCompile(s) }))
	marks = append(marks, m)
	return m
}

const decimal = `(\d+(?:\.\d+)?)`

var (
	toleranceMark = pattern(`(?:±|\+/-|\+-)\s*` + decimal + `\s*%`)
	toleranceTwo  = pattern(`\+\s*` + decimal + `\s*%?\s*/?\s*-\s*` + decimal + `\s*%`)
	toleranceOnly = pattern(decimal + `\s*%`)
	capRange      = pattern(decimal + `\s*-\s*` + decimal + `\s*(?:uf|mfd)`)
	capValue      = pattern(decimal + `(?:\s*[+/]\s*` + decimal + `)?\s*(?:uf|mfd)`)
	voltsMark     = pattern(`(\d+(?:/\d+)*)(?:\s*-\s*(\d+))?\s*(?:vac|volts?|v)\b`)
	heightMark    = pattern(decimal + `\s*(inches|inch|in\.?|mm|cm)\b\.?(?:\s*(?:high|tall))?`)
	postsMark     = pattern(`(\d)\s*(?:blades?|posts?)`)
	ampsMark      = pattern(decimal + `\s*(?:amps?|a)\b`)
	lockedBefore  = pattern(decimal + `\s*(?:lra|locked)`)
	lockedBehind  = pattern(`lra\s*` + decimal + `\s*a\b`)
	lockedAmps    = pattern(decimal + `\s*a\s*(?:lra|locked)`)
	polesMark     = pattern(`(1\.5|1|2|one and a half|one|two)[\s-]*poles?`)
	hertzMark     = pattern(`(50/60|60/50|50|60)\s*hz`)
	auxMark       = pattern(`(\d)\s*aux(?:iliary)?`)
	ratingMark    = pattern(decimal + `\s*va\b`)
	classMark     = pattern(`class\s*(?:2|ii)\b`)
	powerMark     = pattern(`(\d+)\s*/\s*(\d+)\s*hp|` + decimal + `\s*hp`)
	speedMark     = pattern(`(\d+)\s*rpm`)
	speedsMark    = pattern(`(\d)[\s-]*speeds?`)
	shaftMark     = pattern(`(\d+/\d+|\d*\.\d+)\s*(?:in\.?)?\s*x\s*(\d+(?:\.\d+)?)\s*(?:in\.?)?`)
	frameMark     = pattern(`(?:frame\s*)?\b(48y|48z|48|56)\b`)
	partMark      = pattern(`part\s+(\S+)`)
	replacesMark  = pattern(`replaces\s+(\S+)`)
	startMark     = pattern(`\bstart\b`)
	roundMark     = pattern(`\bround\b`)
	ovalMark      = pattern(`\boval\b`)
	fusedMark     = pattern(`\b(?:fused|breaker|protected)\b`)
	weatherMark   = pattern(`\b(?:weather\w*|outdoors?|enclosed|teao|tenv)\b`)
	delayMark     = pattern(`time[\s-]*delay|slow`)
	torqueMark    = pattern(`constant[\s-]*torque`)
	airflowMark   = pattern(`constant[\s-]*airflow`)
	universalMark = pattern(`programmable|universal`)
	motorCapMark  = pattern(`(?:\+|with)?\s*` + decimal + `\s*(?:uf|mfd)(?:\s*(\d+)\s*v\b)?`)
	eitherWayMark = pattern(`reversible|either way`)
	counterMark   = pattern(`counter[\s-]*clockwise|ccw`)
	clockwiseMark = pattern(`clockwise|cw`)
	mountingMark  = pattern(`shaft\s*(up|down|horizontal|level|any)`)
	lineMark      = pattern(`\b(?:cartridge|line)\b`)
)

func number(s string) float64 {
	x, _ := strconv.ParseFloat(s, 64) // digits by the pattern
	return x
}

// inSI converts a number of a label by the table of units.
func inSI(x float64, dim quantity.Dimension, symbol string) float64 {
	u, err := tradeunit.Lookup(dim, symbol)
	if err != nil {
		panic("web: " + err.Error())
	}
	return u.SI(x, 0)
}

func microfarads(s string) quantity.Capacitance {
	return quantity.Capacitance(inSI(number(s), quantity.DimCapacitance, "µF"))
}

// capacitorLabel reads such as "bin 3: 45+5 uF 440 V ±6% round".
func capacitorLabel(line string) (c replace.CapacitorLabel, err error) {
	l := newLabel(line)
	c.Name = l.name
	if g := l.take(toleranceMark); g != nil {
		c.Below, c.Above = number(g[1])/100, number(g[1])/100
	} else if g := l.take(toleranceTwo); g != nil {
		c.Above, c.Below = number(g[1])/100, number(g[2])/100
	} else if g := l.take(toleranceOnly); g != nil {
		c.Below, c.Above = number(g[1])/100, number(g[1])/100
	}
	if g := l.take(capRange); g != nil {
		c.Start, c.Capacitance = true, microfarads(g[1])
	} else if g := l.take(capValue); g != nil {
		c.Capacitance = microfarads(g[1])
		if g[2] != "" {
			c.Fan = microfarads(g[2])
		}
	} else {
		return c, &errLabel{strings.TrimSpace(line) + ": no µF"}
	}
	if g := l.take(voltsMark); g != nil {
		c.Volts = quantity.Voltage(lastVolts(g))
	}
	if g := l.take(heightMark); g != nil {
		c.Height = quantity.Length(inches(g[1], g[2]))
	}
	if g := l.take(postsMark); g != nil {
		c.Posts = int(number(g[1]))
	}
	c.Start = c.Start || l.has(startMark)
	if l.has(roundMark) {
		c.Case = replace.RoundCase
	} else if l.has(ovalMark) {
		c.Case = replace.OvalCase
	}
	return c, l.rest()
}

// lastVolts is the last of the voltages of a mark: that of 370/440 or 208-230.
func lastVolts(g []string) float64 {
	if g[2] != "" {
		return number(g[2])
	}
	return number(g[1][strings.LastIndexByte(g[1], '/')+1:])
}

func inches(value, unit string) float64 {
	switch unit {
	case "mm":
		return inSI(number(value), quantity.DimLength, "mm")
	case "cm":
		return inSI(10*number(value), quantity.DimLength, "mm")
	}
	return inSI(number(value), quantity.DimLength, "in.")
}

// contactorLabel reads such as "2 pole 30 A 150 LRA coil 24 V 50/60 Hz 1 aux".
func contactorLabel(line string) (c replace.ContactorLabel, err error) {
	l := newLabel(line)
	c.Name = l.name
	if g := l.take(polesMark); g != nil {
		c.Poles = map[string]plant.ContactorPoles{"1": plant.OnePole, "one": plant.OnePole, "1.5": plant.OneAndAHalfPole,
			"one and a half": plant.OneAndAHalfPole, "2": plant.TwoPole, "two": plant.TwoPole}[g[1]]
	}
	for _, p := range []mark{lockedBefore, lockedBehind, lockedAmps} {
		if g := l.take(p); g != nil {
			c.LockedRotor = quantity.Current(number(g[1]))
			break
		}
	}
	if g := l.take(auxMark); g != nil {
		c.Auxiliary = int(number(g[1]))
	}
	if g := l.take(hertzMark); g != nil {
		c.Coil50, c.Coil60 = strings.Contains(g[1], "50"), strings.Contains(g[1], "60")
	}
	if g := l.take(ampsMark); g != nil {
		c.FullLoad = quantity.Current(number(g[1]))
	}
	if g := l.take(voltsMark); g != nil {
		c.Coil = quantity.Voltage(lastVolts(g))
	}
	return c, l.rest()
}

// transformerLabel reads such as "40 VA 120/208/240 V to 24 V class 2 fused".
func transformerLabel(line string) (c replace.TransformerLabel, err error) {
	l := newLabel(line)
	c.Name = l.name
	c.Class2 = l.has(classMark)
	c.Protected = l.has(fusedMark)
	if g := l.take(ratingMark); g != nil {
		c.VA = quantity.Power(number(g[1]))
	}
	if g := l.take(voltsMark); g != nil {
		for _, tap := range strings.Split(g[1], "/") {
			c.Primary = append(c.Primary, quantity.Voltage(number(tap)))
		}
	}
	c.Secondary = 24 // practice: what a control transformer gives unless it says otherwise
	if g := l.take(voltsMark); g != nil {
		c.Secondary = quantity.Voltage(lastVolts(g))
	}
	return c, l.rest()
}

// motorLabel reads such as
// "1/4 hp 1075 rpm 208-230 V 1.4 A reversible 1/2 x 5 in 48Y 5 uF 370 V weather shaft any".
func motorLabel(line string) (c replace.MotorLabel, err error) {
	l := newLabel(line)
	c.Name, c.Kind = l.name, replace.PSC
	if g := l.take(partMark); g != nil {
		c.Part = strings.ToUpper(g[1])
	}
	for g := l.take(replacesMark); g != nil; g = l.take(replacesMark) {
		c.Replaces = append(c.Replaces, strings.ToUpper(g[1]))
	}
	if l.has(torqueMark) {
		c.Kind = replace.ConstantTorque
	} else if l.has(airflowMark) {
		c.Kind = replace.ConstantAirflow
	}
	c.Programmable = l.has(universalMark)
	motorRatings(l, &c)
	motorMounting(l, &c)
	return c, l.rest()
}

func motorRatings(l *label, c *replace.MotorLabel) {
	if g := l.take(powerMark); g != nil {
		hp := number(g[3])
		if g[1] != "" && number(g[2]) > 0 {
			hp = number(g[1]) / number(g[2])
		}
		c.Power = quantity.Power(inSI(hp, quantity.DimPower, "hp"))
	}
	if g := l.take(speedMark); g != nil {
		c.Speed = inSI(number(g[1]), quantity.DimRotation, "rpm")
	}
	if g := l.take(speedsMark); g != nil {
		c.Speeds = int(number(g[1]))
	}
	if g := l.take(motorCapMark); g != nil {
		c.Cap = microfarads(g[1])
		c.CapVolts = quantity.Voltage(number(g[2]))
	}
	if g := l.take(shaftMark); g != nil {
		c.ShaftSize, c.ShaftReach = quantity.Length(inSI(fraction(g[1]), quantity.DimLength, "in.")), quantity.Length(inSI(number(g[2]), quantity.DimLength, "in."))
	}
	if g := l.take(voltsMark); g != nil {
		low, _, _ := strings.Cut(g[1], "/")
		c.LowVolts, c.HighVolts = quantity.Voltage(number(low)), quantity.Voltage(lastVolts(g))
	}
	if g := l.take(ampsMark); g != nil {
		c.FullLoad = quantity.Current(number(g[1]))
	}
}

func fraction(s string) float64 {
	if a, b, ok := strings.Cut(s, "/"); ok {
		return number(a) / number(b)
	}
	return number(s)
}

func motorMounting(l *label, c *replace.MotorLabel) {
	switch {
	case l.has(eitherWayMark):
		c.Rotation = replace.Reversible
	case l.has(counterMark):
		c.Rotation = replace.CounterClockwise
	case l.has(clockwiseMark):
		c.Rotation = replace.Clockwise
	}
	if g := l.take(mountingMark); g != nil {
		c.Mounting = map[string]replace.Shaft{"up": replace.ShaftUp, "down": replace.ShaftDown, "horizontal": replace.ShaftHorizontal,
			"level": replace.ShaftHorizontal, "any": replace.ShaftAny}[g[1]]
	}
	c.Weather = l.has(weatherMark)
	if g := l.take(frameMark); g != nil {
		c.Frame = strings.ToUpper(g[1])
	}
}

// fuseLabel reads such as "blade 3 A" or "35 A 250 V time-delay".
func fuseLabel(line string) (c replace.FuseLabel, err error) {
	l := newLabel(line)
	c.Name, c.Place = l.name, replace.ControlFuse
	c.TimeDelay = l.has(delayMark)
	if l.has(lineMark) || c.TimeDelay {
		c.Place = replace.LineFuse
	}
	if g := l.take(voltsMark); g != nil {
		c.Volts = quantity.Voltage(lastVolts(g))
		if c.Volts >= 100 {
			c.Place = replace.LineFuse
		}
	}
	if g := l.take(ampsMark); g != nil {
		c.Amps = quantity.Current(number(g[1]))
	}
	return c, l.rest()
}

// readLabels reads a list of labels, a line each, and keeps the lines as typed.
func readLabels[L any](text string, read func(string) (L, error)) (list []L, lines []string, err error) {
	for _, line := range strings.Split(text, "\n") {
		if line = strings.TrimSpace(line); line == "" {
			continue
		}
		l, err := read(line)
		if err != nil {
			return nil, nil, fmt.Errorf("line %d: %w", len(lines)+1, err)
		}
		list, lines = append(list, l), append(lines, line)
	}
	return list, lines, nil
}
