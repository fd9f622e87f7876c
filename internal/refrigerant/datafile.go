package refrigerant

import (
	"bufio"
	"fmt"
	"strconv"
	"strings"
)

// parseFluid reads a fluid file: lines of a keyword and its values, "#" begins
// a comment. name is the file, for errors.
func parseFluid(name, text string) (*Fluid, error) {
	r := fluidReader{fluid: &Fluid{fits: map[string]*fit{}}}
	if err := eachLine(name, text, r.line); err != nil {
		return nil, err
	}
	if err := r.fluid.complete(); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return r.fluid, nil
}

// eachLine gives every line of a data file, in words, to read; name is the file,
// for errors.
func eachLine(name, text string, read func(words []string) error) error {
	sc := bufio.NewScanner(strings.NewReader(text))
	for line := 1; sc.Scan(); line++ {
		words := strings.Fields(sc.Text())
		if len(words) == 0 || words[0][0] == '#' {
			continue
		}
		if err := read(words); err != nil {
			return fmt.Errorf("%s:%d: %w", name, line, err)
		}
	}
	return nil
}

type fluidReader struct {
	fluid *Fluid
	last  *fit // the fit to which term lines belong
}

func (r *fluidReader) line(words []string) error {
	f, q := r.fluid, &r.fluid.eq
	key, rest := words[0], words[1:]
	switch key {
	case "name":
		return readWords(rest, &f.name)
	case "kind":
		return r.kind(rest)
	case "molar-mass":
		return readNumbers(rest, &q.molarMass)
	case "gas-constant":
		return readNumbers(rest, &q.gasConstant)
	case "reducing":
		return readNumbers(rest, &q.reduceT, &q.reduceRho)
	case "critical":
		return readNumbers(rest, &f.critT, &f.critRho, &f.critP)
	case "temperature-range":
		return readNumbers(rest, &f.minT, &f.maxT)
	case "pressure-max":
		return readNumbers(rest, &f.maxP)
	case "saturation-range":
		return readNumbers(rest, &f.satMinT, &f.satMaxT)
	case "ideal":
		return r.ideal(rest)
	case "residual":
		return r.residual(rest)
	case "fit":
		return r.fit(rest)
	case "term":
		return r.term(rest)
	}
	return fmt.Errorf("unknown keyword %q", key)
}

func (r *fluidReader) kind(words []string) error {
	var kind string
	if err := readWords(words, &kind); err != nil {
		return err
	}
	if kind != "pure" && kind != "pseudo-pure" {
		return fmt.Errorf("kind %q: want pure or pseudo-pure", kind)
	}
	r.fluid.oneFluid = kind == "pseudo-pure"
	return nil
}

func (r *fluidReader) ideal(words []string) error {
	if len(words) == 0 {
		return fmt.Errorf("ideal without a form")
	}
	i, form, rest := &r.fluid.ideal, words[0], words[1:]
	var k coefficient
	switch form {
	case "constant":
		return readNumbers(rest, &i.constant)
	case "linear":
		return readNumbers(rest, &i.linear)
	case "log":
		return readNumbers(rest, &i.log)
	case "power":
		err := readNumbers(rest, &k.c, &k.x)
		i.powers = append(i.powers, k)
		return err
	case "einstein":
		err := readNumbers(rest, &k.c, &k.x)
		i.einstein = append(i.einstein, k)
		return err
	}
	return fmt.Errorf("unknown ideal form %q", form)
}

func (r *fluidReader) residual(words []string) error {
	k, err := readTerm(words)
	if err != nil {
		return err
	}
	r.fluid.eq.residual.put(k, 1)
	return nil
}

// readTerm reads a residual term: its form, then its numbers.
func readTerm(words []string) (term, error) {
	if len(words) == 0 {
		return term{}, fmt.Errorf("residual without a form")
	}
	var k term
	var d, l float64
	numbers := []*float64{&k.n, &k.t, &d}
	switch words[0] {
	case "power":
	case "exponential":
		numbers = append(numbers, &l)
	case "double-exponential":
		numbers = append(numbers, &l, &k.m)
	case "gaussian":
		numbers = append(numbers, &k.eta, &k.eps, &k.beta, &k.gam)
	default:
		return term{}, fmt.Errorf("unknown residual form %q", words[0])
	}
	if err := readNumbers(words[1:], numbers...); err != nil {
		return term{}, err
	}
	k.d, k.l = int(d), int(l)
	if float64(k.d) != d || float64(k.l) != l || k.d < 1 || k.d > maxD || k.l < 0 || k.l > maxL {
		return term{}, fmt.Errorf("exponents d %g and l %g: want whole numbers from 1 to %d and 0 to %d", d, l, maxD, maxL)
	}
	return k, nil
}

func (r *fluidReader) fit(words []string) error {
	if len(words) < 2 {
		return fmt.Errorf("fit without a name and a form")
	}
	r.last = &fit{form: words[1]}
	if f := r.last.form; f != "exp" && f != "exp-tau" && f != "sum" {
		return fmt.Errorf("unknown fit form %q", f)
	}
	r.fluid.fits[words[0]] = r.last
	return readNumbers(words[2:], &r.last.scale, &r.last.T0)
}

func (r *fluidReader) term(words []string) error {
	if r.last == nil {
		return fmt.Errorf("term before any fit")
	}
	var k coefficient
	err := readNumbers(words, &k.c, &k.x)
	r.last.terms = append(r.last.terms, k)
	return err
}

// readNumbers reads exactly the numbers wanted.
func readNumbers(words []string, into ...*float64) error {
	if len(words) != len(into) {
		return fmt.Errorf("%d values, want %d", len(words), len(into))
	}
	for i, w := range words {
		v, err := strconv.ParseFloat(w, 64)
		if err != nil {
			return fmt.Errorf("value %q: not a number", w)
		}
		*into[i] = v
	}
	return nil
}

// readWords reads exactly the words wanted.
func readWords(words []string, into ...*string) error {
	if len(words) != len(into) {
		return fmt.Errorf("%d values, want %d", len(words), len(into))
	}
	for i, w := range words {
		*into[i] = w
	}
	return nil
}

// complete checks that nothing is missing and sets what follows from the rest.
func (f *Fluid) complete() error {
	q := &f.eq
	for _, v := range []struct {
		name  string
		value float64
	}{
		{"molar-mass", q.molarMass}, {"gas-constant", q.gasConstant}, {"reducing", q.reduceT * q.reduceRho},
		{"critical", f.critT * f.critRho * f.critP}, {"temperature-range", f.maxT - f.minT},
		{"pressure-max", f.maxP}, {"saturation-range", f.satMaxT - f.satMinT},
	} {
		if !(v.value > 0) {
			return fmt.Errorf("%s is missing or not positive", v.name)
		}
	}
	if f.name == "" || len(q.residual.groups) == 0 {
		return fmt.Errorf("name or residual part is missing")
	}
	f.bubbleFit, f.dewFit = f.fits["bubble-pressure"], f.fits["dew-pressure"]
	if !f.oneFluid {
		f.bubbleFit = f.fits["saturation-pressure"]
		f.dewFit = f.bubbleFit
	}
	f.liquidFit, f.vapourFit = f.fits["liquid-density"], f.fits["vapour-density"]
	if f.bubbleFit == nil || f.dewFit == nil || f.liquidFit == nil || f.vapourFit == nil {
		return fmt.Errorf("a saturation fit is missing")
	}
	q.ideal = []idealPart{{weight: 1, reduceT: q.reduceT, reduceRho: q.reduceRho, ideal: &f.ideal}}
	f.tabled = true
	return f.finish()
}
