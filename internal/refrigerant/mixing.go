package refrigerant

import (
	"embed"
	"fmt"
	"math"
	"strings"
	"sync"
)

// Symbols in this file:
//
//	ρᵢ      molar concentration of component i; their sum is r, xᵢ = ρᵢ/r
//	Q       a quadratic form of the ρᵢ: Tr·r² or vr·r² of the mixture
//	βγF     parameters of a pair of components
//
// published: Kunz, Wagner 2012, J. Chem. Eng. Data 57, 3032-3091 (the mixing
// rules); Lemmon, Jacobsen 2004, J. Phys. Chem. Ref. Data 33(2), 593-620 (the
// first parameters for refrigerants). The print not seen.

// maxComponents is the most components that a blend may have; the blends of
// the trade made of the components held have five.
const maxComponents = 6

// vector holds one number per component, matrix one per two components.
type (
	vector [maxComponents]float64
	matrix [maxComponents]vector
)

// readLines gives every line of an embedded file, in words, to read; "#" begins
// a comment.
func readLines(files embed.FS, name string, read func(words []string) error) error {
	text, err := files.ReadFile(name)
	if err != nil {
		return err
	}
	return eachLine(name, string(text), read)
}

// pair holds the parameters of a pair of components, as they are given for one
// order of the two.
type pair struct {
	i, j                         string
	betaT, gammaT, betaV, gammaV float64
	scale                        float64 // F
	departure                    *residual
	estimated                    bool // not published, borrowed from a like component
}

// reverse returns the parameters for the other order.
func (p pair) reverse() pair {
	p.i, p.j = p.j, p.i
	p.betaT, p.betaV = 1/p.betaT, 1/p.betaV
	return p
}

//go:embed data/mixing.dat data/blends.dat
var mixingFiles embed.FS

// mixing holds the pairs by the names of both, "R-32 R-125", in either order.
var mixing = sync.OnceValue(func() map[string]pair {
	var r mixingReader
	r.departures = map[string]*residual{}
	if err := readLines(mixingFiles, "data/mixing.dat", r.line); err != nil {
		panic("refrigerant: " + err.Error())
	}
	all := map[string]pair{}
	for _, raw := range r.pairs {
		p := raw.pair
		if raw.departure != "-" {
			d, ok := r.departures[raw.departure]
			if !ok {
				panic("refrigerant: data/mixing.dat: no departure function " + raw.departure)
			}
			p.departure = d
		}
		all[p.i+" "+p.j] = p
		all[p.j+" "+p.i] = p.reverse()
	}
	return all
})

// mixingReader reads the file of pairs and departure functions.
type mixingReader struct {
	pairs []struct {
		pair
		departure string
	}
	departures map[string]*residual
	last       *residual
}

func (r *mixingReader) line(words []string) error {
	key, rest := words[0], words[1:]
	switch key {
	case "pair", "estimate":
		if len(rest) != 8 {
			return fmt.Errorf("%s with %d values, want 8", key, len(rest))
		}
		p := pair{i: rest[0], j: rest[1], estimated: key == "estimate"}
		err := readNumbers(rest[2:7], &p.betaT, &p.gammaT, &p.betaV, &p.gammaV, &p.scale)
		r.pairs = append(r.pairs, struct {
			pair
			departure string
		}{p, rest[7]})
		return err
	case "departure":
		var name string
		err := readWords(rest, &name)
		r.last = &residual{}
		r.departures[name] = r.last
		return err
	case "residual":
		if r.last == nil {
			return fmt.Errorf("residual before any departure")
		}
		k, err := readTerm(rest)
		if err == nil {
			r.last.put(k, 1)
		}
		return err
	}
	return fmt.Errorf("unknown keyword %q", key)
}

// UnknownPairError says that nothing is published on how two refrigerants mix.
type UnknownPairError struct{ Pairs []string }

func (e *UnknownPairError) Error() string {
	return "no mixing parameters are held for " + strings.Join(e.Pairs, ", ")
}

// mixture is a set of components with their pairs, of any composition.
type mixture struct {
	fluids []*Fluid
	pairs  [maxComponents][maxComponents]pair // i < j
}

// newMixture returns the mixture of the fluids; a pair without parameters is
// an *UnknownPairError.
func newMixture(fluids []*Fluid) (*mixture, error) {
	m := &mixture{fluids: fluids}
	var missing []string
	for i, a := range fluids {
		for j := i + 1; j < len(fluids); j++ {
			b := fluids[j]
			p, ok := mixing()[a.name+" "+b.name]
			if !ok {
				missing = append(missing, a.name+" with "+b.name)
			}
			m.pairs[i][j] = p
		}
	}
	if missing != nil {
		return nil, &UnknownPairError{Pairs: missing}
	}
	return m, nil
}

// universalGas is the gas constant of every mixture.
// published: CODATA 2018, exact by the definition of the SI, J/(mol·K)
const universalGas = 8.31446261815324

// equation returns the equation of the mixture at the mole fractions x, which
// are positive and sum to 1: a fluid like any other.
func (m *mixture) equation(x []float64) equation {
	q := equation{gasConstant: universalGas}
	var conc vector
	copy(conc[:], x)
	var Tr, vr form
	m.reducing(&conc, &Tr, &vr)
	q.reduceT, q.reduceRho = Tr.q, 1/vr.q
	for i, f := range m.fluids {
		q.molarMass += x[i] * f.eq.molarMass
		part := f.eq.ideal[0]
		part.weight = x[i] * f.eq.gasConstant / universalGas
		part.mixing = math.Log(x[i])
		q.ideal = append(q.ideal, part)
		q.residual.putAll(&f.eq.residual, x[i])
		for j := i + 1; j < len(m.fluids); j++ {
			if p := &m.pairs[i][j]; p.departure != nil {
				q.residual.putAll(p.departure, x[i]*x[j]*p.scale)
			}
		}
	}
	return q
}

// form is a quadratic form of the concentrations with its derivatives.
type form struct {
	q float64
	d vector
	m matrix
}

// reducing sets the forms Q of the reducing temperature in K and of the
// reducing molar volume in m³/mol, at the concentrations conc.
func (m *mixture) reducing(conc *vector, Tr, vr *form) {
	*Tr, *vr = form{}, form{}
	for i, a := range m.fluids {
		Ta, va := a.eq.reduceT, 1/a.eq.reduceRho
		Tr.square(i, conc[i], Ta)
		vr.square(i, conc[i], va)
		for j := i + 1; j < len(m.fluids); j++ {
			b, p := m.fluids[j], &m.pairs[i][j]
			Tb, vb := b.eq.reduceT, 1/b.eq.reduceRho
			c := math.Cbrt(va) + math.Cbrt(vb)
			Tr.cross(i, j, conc[i], conc[j], p.betaT, 2*p.betaT*p.gammaT*math.Sqrt(Ta*Tb))
			vr.cross(i, j, conc[i], conc[j], p.betaV, 2*p.betaV*p.gammaV*c*c*c/8)
		}
	}
}

// square adds y·u², u the concentration i.
func (f *form) square(i int, u, y float64) {
	f.q += y * u * u
	f.d[i] += 2 * y * u
	f.m[i][i] += 2 * y
}

// cross adds y·u·w·(u + w)/(β²u + w), u and w the concentrations i and j.
func (f *form) cross(i, j int, u, w, beta, y float64) {
	b := beta * beta
	D := b*u + w
	if D == 0 {
		return
	}
	// N = u²w + uw² and f = N/D; every derivative follows from f·D = N.
	v := u * w * (u + w) / D
	vu := (2*u*w + w*w - v*b) / D
	vw := (u*u + 2*u*w - v) / D
	f.q += y * v
	f.d[i] += y * vu
	f.d[j] += y * vw
	f.m[i][i] += y * (2*w - 2*b*vu) / D
	f.m[j][j] += y * (2*u - 2*vw) / D
	mixed := y * (2*u + 2*w - b*vw - vu) / D
	f.m[i][j] += mixed
	f.m[j][i] += mixed
}
