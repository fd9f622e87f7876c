package refrigerant

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
	"sync"

	"rung/internal/num"
	"rung/internal/quantity"
)

// Part is a component of a blend with its share of the mass.
type Part struct {
	Refrigerant  string
	MassFraction float64
}

// blended is what a blend by the mixing rules has in place of fits.
type blended struct {
	blend
	parts       []Part
	bubble, dew traced
	topT, topP  float64 // K, Pa: above either there are no two phases
	estimated   []string
}

// CompositionError says that parts do not make a blend.
type CompositionError struct {
	Reason   string
	Unstable bool // the liquid would part in two at all temperatures of use
}

func (e *CompositionError) Error() string { return "composition: " + e.Reason }

// sumTolerance is how far from 1 mass fractions may sum. A composition written
// in tenths of a percent, six of them, is never further off.
const sumTolerance = 0.003

// Mix returns the blend of the given parts. Their order does not matter, and
// their mass fractions are taken in proportion if they sum to 1 within 0.003.
//
// Parts are the pure refrigerants held, up to six. Errors are *UnknownError for
// a part that is none of them, *CompositionError for fractions that are no
// composition or whose liquid would part in two, *UnknownPairError where nothing
// is published on how two parts mix, and *num.ConvergenceError where the lines
// of a mixture could not be followed (two of 3000 random ones). Making a blend
// takes milliseconds: keep it.
func Mix(parts ...Part) (*Fluid, error) {
	parts, fluids, err := components(parts)
	if err != nil {
		return nil, err
	}
	if len(parts) == 1 {
		return fluids[0], nil
	}
	return mix(compositionName(parts), parts, fluids, false)
}

// components checks the parts and finds their fluids.
func components(given []Part) ([]Part, []*Fluid, error) {
	parts := slices.Clone(given)
	if len(parts) == 0 || len(parts) > maxComponents {
		return nil, nil, &CompositionError{Reason: fmt.Sprintf("%d parts; a blend has from 1 to %d", len(parts), maxComponents)}
	}
	var fluids []*Fluid
	var sum float64
	for i, p := range parts {
		f, ok := library()[fold(p.Refrigerant)]
		if !ok || f.oneFluid {
			return nil, nil, &UnknownError{Name: p.Refrigerant, Known: Components()}
		}
		if !(p.MassFraction > 0 && p.MassFraction <= 1+sumTolerance) {
			return nil, nil, &CompositionError{Reason: fmt.Sprintf("%g of %s by mass; want more than 0 and up to 1", p.MassFraction, f.name)}
		}
		if slices.Contains(fluids, f) {
			return nil, nil, &CompositionError{Reason: f.name + " twice"}
		}
		parts[i].Refrigerant = f.name
		fluids = append(fluids, f)
		sum += p.MassFraction
	}
	if math.Abs(sum-1) > sumTolerance {
		return nil, nil, &CompositionError{Reason: fmt.Sprintf("the mass fractions sum to %g, not 1", sum)}
	}
	for i := range parts {
		parts[i].MassFraction /= sum
	}
	return parts, fluids, nil
}

// Components returns the names of the pure refrigerants of which blends can be
// made, sorted.
func Components() []string {
	var names []string
	for _, f := range library() {
		if !f.oneFluid {
			names = append(names, f.name)
		}
	}
	slices.Sort(names)
	return names
}

// mix makes the blend.
func mix(name string, parts []Part, fluids []*Fluid, tabled bool) (*Fluid, error) {
	m, err := newMixture(fluids)
	if err != nil {
		return nil, err
	}
	b := &blended{blend: blend{mixture: m}, parts: parts}
	var sum float64
	for i, f := range fluids {
		b.x[i] = parts[i].MassFraction / f.eq.molarMass
		sum += b.x[i]
	}
	for i := range fluids {
		b.x[i] /= sum
		for j := i + 1; j < len(fluids); j++ {
			if m.pairs[i][j].estimated {
				b.estimated = append(b.estimated, fluids[i].name+" with "+fluids[j].name)
			}
		}
	}
	f := &Fluid{name: name, tabled: tabled, blend: b, eq: m.equation(b.x[:len(fluids)])}
	f.maxT, f.maxP = math.Inf(1), math.Inf(1)
	for _, c := range fluids {
		f.maxT, f.maxP = math.Min(f.maxT, c.maxT), math.Min(f.maxP, c.maxP)
	}
	if err := f.followLines(); err != nil {
		return nil, err
	}
	return f, f.finish()
}

// Where the lines of a blend begin, in K: 200 K (-73 °C) is below every use of
// the trade and above the lowest temperatures of all components. Some mixtures
// of fluorinated refrigerants with hydrocarbons part into two liquids there;
// their lines begin higher, but where that is above 0 °C, where the reference
// state lies, they are refused. What is looked for is a liquid that cannot stay
// one; a liquid that might part but need not is not.
const (
	lowestFrom = 200.0
	lowestEnd  = 270.0
	lowestStep = 10.0
)

// followLines traces both lines and finds the critical point, from the lowest
// temperature at which that succeeds.
func (f *Fluid) followLines() error {
	var failed error
	for from := lowestFrom; from <= lowestEnd; from += lowestStep {
		if failed = f.followFrom(from); failed == nil {
			return nil
		}
	}
	return failed
}

// followFrom is followLines from the temperature from in K.
func (f *Fluid) followFrom(from float64) error {
	b := f.blend
	var err error
	if b.bubble, err = b.trace(bubbleLine, from); err != nil {
		return lost("bubble line", err)
	}
	if b.dew, err = b.trace(dewLine, from); err != nil {
		return lost("dew line", err)
	}
	end := b.bubble.last()
	f.critT, f.critRho, f.critP, err = b.critical(math.Exp(end.lnT), math.Exp(end.whole+end.gap(len(b.fluids))/2))
	if err != nil {
		return lost("critical point", err)
	}
	b.cutUnstable()
	if len(b.bubble.nodes) < 2 || len(b.dew.nodes) < 2 {
		return twoLiquids()
	}
	lo := math.Max(b.bubble.nodes[0].lnT, b.dew.nodes[0].lnT)
	hi := math.Min(b.bubble.last().lnT, b.dew.last().lnT)
	// Inward to a full thousandth of a kelvin, for the eye.
	f.satMinT = math.Ceil(math.Exp(lo)*1e3-1e-6) / 1e3
	f.satMaxT = math.Floor(math.Min(math.Exp(hi), f.critT)*1e3) / 1e3
	if f.satMinT > referenceTemp {
		return twoLiquids()
	}
	if f.critT-f.satMaxT > mostBelowCritical {
		return lost("lines up to the critical point", &num.ConvergenceError{Op: "refrigerant.trace", Lo: f.satMaxT, Hi: f.critT})
	}
	f.minT = f.satMinT
	b.topT = math.Max(f.critT, math.Exp(b.dew.last().lnT))
	b.topP = math.Max(f.critP, math.Exp(b.bubble.last().lnp))
	return nil
}

func twoLiquids() error {
	return &CompositionError{Unstable: true, Reason: "the liquid of this mixture would part in two at the temperatures of use"}
}

// lost says that a line or the critical point was not found.
func lost(what string, err error) error {
	return fmt.Errorf("refrigerant.Mix: %s not found: %w", what, err)
}

// mostBelowCritical is the most, in K, by which the highest temperature of both
// lines may lie below the critical temperature.
const mostBelowCritical = 10.0

// last returns the highest node.
func (tr *traced) last() *node { return &tr.nodes[len(tr.nodes)-1] }

// cutUnstable drops the lower ends of both lines on which the liquid is not
// stable: it would part in two.
func (b *blended) cutUnstable() {
	n := len(b.fluids)
	for i := len(b.bubble.nodes) - 1; i >= 0; i-- {
		at := &b.bubble.nodes[i]
		if c, _ := leastEigen(b.hessianAt(math.Exp(at.lnT), b.at(math.Exp(at.whole))), n); c < 0 {
			b.bubble.nodes = b.bubble.nodes[i+1:]
			break
		}
	}
	for i := len(b.dew.nodes) - 1; i >= 0; i-- {
		at := &b.dew.nodes[i]
		var liquid vector
		for k := range n {
			liquid[k] = math.Exp(at.other[k])
		}
		if c, _ := leastEigen(b.hessianAt(math.Exp(at.lnT), liquid), n); c < 0 {
			b.dew.nodes = b.dew.nodes[i+1:]
			break
		}
	}
}

// hessianAt returns the scaled second derivatives at the concentrations conc.
func (b *blend) hessianAt(T float64, conc vector) matrix { return b.hessian(T, &conc, &conc) }

// Composition returns the parts of a blend by mass; for a pure refrigerant that
// alone. The order is that of the standard's designation where it has one.
func (f *Fluid) Composition() []Part {
	if f.blend != nil {
		return slices.Clone(f.blend.parts)
	}
	if i := slices.IndexFunc(namedBlends(), func(b namedBlend) bool { return b.name == f.name }); i >= 0 {
		return slices.Clone(namedBlends()[i].parts)
	}
	return []Part{{Refrigerant: f.name, MassFraction: 1}}
}

// Estimated names the pairs of components whose mixing parameters are not
// published but borrowed from a like component; nil for nearly every blend.
func (f *Fluid) Estimated() []string {
	if f.blend == nil {
		return nil
	}
	return slices.Clone(f.blend.estimated)
}

// MolarMass returns the mass of a mole.
func (f *Fluid) MolarMass() quantity.MolarMass { return quantity.MolarMass(f.eq.molarMass) }

// namedBlend is a blend with a designation of its own.
type namedBlend struct {
	name  string
	parts []Part
	fluid func() (*Fluid, error)
}

// namedBlends holds the blends of the file, in its order.
var namedBlends = sync.OnceValue(func() []namedBlend {
	var all []namedBlend
	err := readLines(mixingFiles, "data/blends.dat", func(words []string) error {
		if words[0] != "blend" || len(words) < 4 || len(words)%2 != 0 {
			return fmt.Errorf("want blend, a name, and pairs of component and percent")
		}
		b := namedBlend{name: words[1]}
		for i := 2; i < len(words); i += 2 {
			var percent float64
			if err := readNumbers(words[i+1:i+2], &percent); err != nil {
				return err
			}
			b.parts = append(b.parts, Part{Refrigerant: words[i], MassFraction: percent / 100})
		}
		b.fluid = sync.OnceValues(func() (*Fluid, error) {
			parts, fluids, err := components(b.parts)
			if err != nil {
				return nil, err
			}
			return mix(b.name, parts, fluids, library()[fold(b.name)] == nil)
		})
		all = append(all, b)
		return nil
	})
	if err != nil {
		panic("refrigerant: " + err.Error())
	}
	return all
})

// Blend returns the blend of the given name or composition by the mixing
// rules, also where Lookup gives an equation of its own for it. Errors as of
// Lookup.
func Blend(name string) (*Fluid, error) {
	for _, b := range namedBlends() {
		if fold(b.name) == fold(name) {
			return b.fluid()
		}
	}
	parts, err := ParseComposition(name)
	if err != nil {
		return nil, &UnknownError{Name: name, Known: Names()}
	}
	return Mix(parts...)
}

// ParseComposition reads a composition by mass as the designations of blends
// are written: refrigerants, a slash between, then the percentages in the same
// order in parentheses, "R-32/125/134a (23/25/52)". The R of the later ones may
// be left out.
func ParseComposition(s string) ([]Part, error) {
	bad := &CompositionError{Reason: fmt.Sprintf("%q is not of the form R-32/125 (50/50)", s)}
	s = strings.TrimSpace(s)
	open := strings.LastIndex(s, "(")
	if open < 0 || !strings.HasSuffix(s, ")") {
		return nil, bad
	}
	names := strings.Split(s[:open], "/")
	shares := strings.Split(s[open+1:len(s)-1], "/")
	if len(names) != len(shares) {
		return nil, bad
	}
	var parts []Part
	for i, name := range names {
		name = fold(name)
		if !strings.HasPrefix(name, "R") {
			name = "R" + name
		}
		percent, err := strconv.ParseFloat(strings.TrimSpace(shares[i]), 64)
		if err != nil || name == "R" {
			return nil, bad
		}
		parts = append(parts, Part{Refrigerant: name, MassFraction: percent / 100})
	}
	return parts, nil
}

// compositionName writes what ParseComposition reads.
func compositionName(parts []Part) string {
	var names, shares []string
	for i, p := range parts {
		name := p.Refrigerant
		if i > 0 {
			name = strings.TrimPrefix(name, "R-")
		}
		names = append(names, name)
		shares = append(shares, strconv.FormatFloat(math.Round(p.MassFraction*1e5)/1e3, 'f', -1, 64))
	}
	return strings.Join(names, "/") + " (" + strings.Join(shares, "/") + ")"
}
