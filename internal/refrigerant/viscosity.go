package refrigerant

import (
	"embed"
	"fmt"
	"math"
	"sync"

	"rung/internal/quantity"
)

// Symbols in this file:
//
//	η    viscosity; η₀ that of the dilute gas
//	s⁺   residual entropy: that of the ideal gas at the same T and ρ, less that
//	     of the fluid, over the gas constant
//	m    mass of a molecule, kg
//	N    molecules per m³
//	k    Boltzmann constant

// Constants of nature, exact by the definition of the SI.
// published: CODATA 2018.
const (
	avogadro  = 6.02214076e23 // 1/mol
	boltzmann = 1.380649e-23  // J/K
)

// Viscosity returns the dynamic viscosity of the fluid at the temperature t and
// the density rho of one phase, as State and Saturation give it.
//
// Scaled by the kinetic units of the fluid, what is left of the viscosity
// without that of the dilute gas is nearly one curve over the residual entropy,
// the same for liquid, vapour and all that lies between:
//
//	η = η₀ + N^(2/3) √(mkT) s⁺^(−2/3) (exp(n₁s⁺ + n₂s⁺^1.5 + n₃s⁺² + n₄s⁺^2.5 + n₅(τ−1)s⁺) − 1)
//
// The dilute gas is that of Lennard-Jones molecules. The term with τ, the
// reducing temperature of the equation over the temperature, is an addition
// made here: it halves the largest deviations. A blend takes the mean of its
// components' n by moles, and the rule of Wilke for the dilute gas; R-410A,
// R-407C and R-404A by their own equations have numbers of their own.
//
// The answer is given from 210 to 420 K (R-1234yf and its blends 410 K) up to a
// density 2 % above the highest of the rows fitted to, liquid at 210 to 223 K.
// Beyond either, and for a density between those of liquid and vapour at t, the
// error is a *quantity.RangeError.
//
// The largest deviations from rows of published correlations which nothing was
// fitted to (testdata/published/viscosity.txt; the correlations themselves claim
// 1 to 4 %), in percent, below and above 0.95 of the critical temperature:
//
//	R-22   1.4  2.2     R-1234yf  2.0  2.5     R-410A  1.5  2.2; by parts 12.2  3.1
//	R-32   1.5  2.6     R-143a    3.0  2.5     R-407C  1.1  1.0; by parts  6.6  7.4
//	R-125  2.4  5.6     R-290     1.5  3.6     R-404A  1.4  1.7; by parts  8.1  4.4
//	R-134a 2.2  3.4     R-600a    1.4  1.8
//
// On average they are 0.3 to 1.0 %, by parts 2.5 to 3.6 %. By parts, liquid and
// vapour above 250 K are within 6.6 %. Some of that lies between the
// correlations: thin vapour of R-410A is thinner by its own than either of its
// components is by theirs.
//
// R-600, R-601a and R-1234ze(E) have no rows and borrow the curves of R-600a,
// R-600a and R-134a; see ViscosityDoubt. The enhancement very near to the
// critical point is left out.
//
// memory: X. Yang, X. Xiao, E. F. May, I. H. Bell, J. Chem. Eng. Data 66, 2021,
// 1385, the form of the curve without the last term, and the mean for blends;
// I. H. Bell, A. Laesecke, 16th International Refrigeration Conference at
// Purdue, 2016, the idea for refrigerants.
func (f *Fluid) Viscosity(t quantity.Temperature, rho quantity.Density) (quantity.Viscosity, error) {
	const op = "refrigerant.Viscosity"
	T := t.Kelvin()
	m, err := f.thickness()
	if err != nil {
		return 0, err
	}
	if err := quantity.CheckRange(op, "temperature", T, m.minT, m.maxT, "K"); err != nil {
		return 0, err
	}
	if err := quantity.CheckRange(op, "density", float64(rho), 0, m.maxRho, "kg/m³"); err != nil {
		return 0, err
	}
	if err := f.refuseTwoPhases(op, T, float64(rho), m.maxRho); err != nil {
		return 0, err
	}
	return quantity.Viscosity(m.at(&f.eq, T, float64(rho)/f.eq.molarMass)), nil
}

// ViscosityDoubt returns how far Viscosity may lie from the truth, as a
// fraction: 3 % with numbers of its own, 8 % for a blend by the rule, and 15 %
// for what is borrowed from a like fluid, by its share of the moles.
//
// practice: judgement, from the deviations that Viscosity states and those of
// the few values of the borrowers in testdata/published.
func (f *Fluid) ViscosityDoubt() quantity.Ratio {
	const ofOwn, ofBlend, ofBorrowed = 0.03, 0.08, 0.15
	m, err := f.thickness()
	if err != nil {
		return quantity.Ratio(math.NaN())
	}
	own := ofOwn
	if len(m.parts) > 1 {
		own = ofBlend
	}
	var doubt float64
	for _, p := range m.parts {
		if p.like != "" {
			doubt += p.x * math.Max(own, ofBorrowed)
		} else {
			doubt += p.x * own
		}
	}
	return quantity.Ratio(doubt)
}

// refuseTwoPhases returns an error for a density in kg/m³ between those of
// liquid and vapour, with the limits of the phase that is nearer.
func (f *Fluid) refuseTwoPhases(op string, T, rho, maxRho float64) error {
	const slack = 1e-3 // relative: densities of saturation come from fits too
	if T < f.satMinT || T > f.satMaxT {
		return nil
	}
	s, err := f.saturationAt(T)
	if err != nil {
		return err
	}
	vapour, liquid := s.rhoVap*f.eq.molarMass*(1+slack), s.rhoLiq*f.eq.molarMass*(1-slack)
	switch {
	case rho <= vapour, rho >= liquid:
		return nil
	case rho < (vapour+liquid)/2:
		return quantity.CheckRange(op+" of vapour", "density", rho, 0, vapour, "kg/m³")
	}
	return quantity.CheckRange(op+" of liquid", "density", rho, liquid, maxRho, "kg/m³")
}

// viscous is what the viscosity needs of a fluid with an equation of its own.
type viscous struct {
	like       string     // the fluid of which the curve is borrowed, "" for its own
	sigma      float64    // diameter of the molecule, m
	epsilon    float64    // depth of its well over k, K
	n          [5]float64 // of the curve
	minT, maxT float64    // K
	maxRho     float64    // kg/m³
}

// dilute returns the viscosity in Pa·s of the dilute gas of molecules of the
// mass m at T.
//
// published: Chapman and Enskog, any text on the kinetic theory of gases; the
// collision integral by P. D. Neufeld, A. R. Janzen, R. A. Aziz, J. Chem. Phys.
// 57, 1972, 1100, eq. 2 without the sine, to 0.3 % for 0.3 < T* < 100; numbers
// as in texts on gas properties, the paper not seen.
func (v *viscous) dilute(T, m float64) float64 {
	r := T / v.epsilon
	omega := 1.16145*math.Pow(r, -0.14874) + 0.52487*math.Exp(-0.77320*r) + 2.16178*math.Exp(-2.43787*r)
	return 5.0 / 16 * math.Sqrt(math.Pi*m*boltzmann*T) / (math.Pi * v.sigma * v.sigma * omega)
}

// scaled returns N^(2/3) √(mkT) in Pa·s, the unit of viscosity that the motion
// of the molecules sets.
func scaled(T, m, molecules float64) float64 {
	return math.Pow(molecules, 2.0/3) * math.Sqrt(m*boltzmann*T)
}

// curve returns s⁺^(−2/3) (exp(Σ nᵢs⁺^… + n₅(τ−1)s⁺) − 1); without residual
// entropy, in the limit of no density, 0.
func curve(n *[5]float64, s, tau float64) float64 {
	if s <= 0 {
		return 0
	}
	r := math.Sqrt(s)
	return math.Pow(s, -2.0/3) * math.Expm1(s*(n[4]*(tau-1)+n[0]+r*(n[1]+r*(n[2]+r*n[3]))))
}

// thick is what the viscosity of a fluid or blend needs.
type thick struct {
	parts      []thickPart
	n          [5]float64
	minT, maxT float64 // K
	maxRho     float64 // kg/m³
}

type thickPart struct {
	*viscous
	x, m float64 // mole fraction; mass of a molecule, kg
}

// thickness gathers the parts of f.
func (f *Fluid) thickness() (thick, error) {
	t := thick{maxT: math.Inf(1)}
	var moles, volume float64
	parts := f.Composition()
	if f.oneFluid {
		parts = []Part{{f.name, 1}}
	}
	for _, p := range parts {
		v, ok := viscosities()[p.Refrigerant]
		pure, known := library()[fold(p.Refrigerant)]
		if !ok || !known {
			return thick{}, &UnknownError{Name: p.Refrigerant, Known: Components()}
		}
		x := p.MassFraction / pure.eq.molarMass
		moles += x
		volume += p.MassFraction / v.maxRho
		t.parts = append(t.parts, thickPart{viscous: v, x: x, m: pure.eq.molarMass / avogadro})
		t.minT, t.maxT = math.Max(t.minT, v.minT), math.Min(t.maxT, v.maxT)
	}
	t.maxRho = 1 / volume
	for i := range t.parts {
		p := &t.parts[i]
		p.x /= moles
		for k := range t.n {
			t.n[k] += p.x * p.n[k]
		}
	}
	return t, nil
}

// at returns the viscosity in Pa·s at T in K and ρ in mol/m³.
func (t *thick) at(q *equation, T, rho float64) float64 {
	return t.dilute(T) + scaled(T, q.molarMass/avogadro, rho*avogadro)*curve(&t.n, q.residualEntropy(T, rho), q.reduceT/T)
}

// residualEntropy returns s⁺ at T in K and ρ in mol/m³.
func (q *equation) residualEntropy(T, rho float64) float64 {
	r := q.residualAt(T, rho)
	return r.a - r.t
}

// dilute returns the viscosity in Pa·s of the dilute gas at T.
//
// published: C. R. Wilke, J. Chem. Phys. 18, 1950, 517, as in texts on gas
// properties; the paper not seen.
func (t *thick) dilute(T float64) float64 {
	if len(t.parts) == 1 {
		return t.parts[0].dilute(T, t.parts[0].m)
	}
	var pure vector
	for i := range t.parts {
		pure[i] = t.parts[i].dilute(T, t.parts[i].m)
	}
	var sum float64
	for i, a := range t.parts {
		var weight float64
		for j, b := range t.parts {
			phi := 1 + math.Sqrt(pure[i]/pure[j])*math.Sqrt(math.Sqrt(b.m/a.m))
			weight += b.x * phi * phi / math.Sqrt(8*(1+a.m/b.m))
		}
		sum += a.x * pure[i] / weight
	}
	return sum
}

//go:embed data/viscosity.dat
var viscosityFile embed.FS

// viscosities holds the pure fluids by name.
var viscosities = sync.OnceValue(func() map[string]*viscous {
	all := map[string]*viscous{}
	err := readLines(viscosityFile, "data/viscosity.dat", func(words []string) error {
		return readViscous(all, words)
	})
	if err != nil {
		panic("refrigerant: " + err.Error())
	}
	return all
})

func readViscous(all map[string]*viscous, words []string) error {
	if len(words) < 2 {
		return fmt.Errorf("want a keyword and a refrigerant")
	}
	v := &viscous{}
	switch words[0] {
	case "own":
		err := readNumbers(words[2:], &v.minT, &v.maxT, &v.maxRho, &v.sigma, &v.epsilon, &v.n[0], &v.n[1], &v.n[2], &v.n[3], &v.n[4])
		if err != nil {
			return err
		}
	case "like":
		var like string
		if err := readWords(words[2:], &like); err != nil {
			return err
		}
		lender, ok := all[like]
		if !ok {
			return fmt.Errorf("%s borrows of %s, which was not read before", words[1], like)
		}
		scaled, err := lender.scaledTo(library()[fold(like)], library()[fold(words[1])])
		if err != nil {
			return err
		}
		scaled.like = like
		v = &scaled
	default:
		return fmt.Errorf("unknown keyword %q", words[0])
	}
	all[words[1]] = v
	return nil
}

// scaledTo returns v, of the fluid from, for the fluid to: molecules larger as
// the critical volumes are, wells deeper as the critical temperatures are, the
// densest liquid at the same multiple of the critical density, and the residual
// entropy at the same fraction of that of the boiling liquid at 0.7 of the
// critical temperature, as longer molecules have more of it.
//
// published: the principle of corresponding states, any text; the last scale as
// in the work on residual entropy that Viscosity names (memory).
func (v *viscous) scaledTo(from, to *Fluid) (viscous, error) {
	u := *v
	u.sigma *= math.Cbrt(from.critRho / to.critRho)
	u.epsilon *= to.critT / from.critT
	u.maxRho *= to.critRho * to.eq.molarMass / (from.critRho * from.eq.molarMass)
	k, err := from.boilingEntropy()
	if err != nil {
		return u, err
	}
	l, err := to.boilingEntropy()
	if err != nil {
		return u, err
	}
	k /= l
	for i, power := range [...]float64{1, 1.5, 2, 2.5, 1} {
		u.n[i] *= math.Pow(k, power)
	}
	return u, nil
}

// boilingEntropy returns the residual entropy of the boiling liquid at 0.7 of
// the critical temperature.
func (f *Fluid) boilingEntropy() (float64, error) {
	T := 0.7 * f.critT
	rho, err := f.bubbleDensity(T)
	return f.eq.residualEntropy(T, rho), err
}
