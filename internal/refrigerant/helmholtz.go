package refrigerant

import (
	"math"
	"slices"
)

// Symbols in this file:
//
//	τ   reducing temperature / temperature
//	δ   molar density / reducing density
//	α   Helmholtz energy / (R·T): ideal part α⁰ plus residual part αʳ

// derivs is a part of α with its derivatives, each multiplied by the powers of
// τ and δ that make it free of units and finite at low density.
type derivs struct {
	a  float64 // α
	d  float64 // δ ∂α/∂δ
	t  float64 // τ ∂α/∂τ
	dd float64 // δ² ∂²α/∂δ²
	dt float64 // δτ ∂²α/∂δ∂τ
	tt float64 // τ² ∂²α/∂τ²
}

// term is one term of the residual part,
//
//	n τ^t δ^d exp(−δ^l) exp(−τ^m) exp(−η(δ−ε)² − β(τ−γ)²)
//
// where a zero l, m, or η and β leaves out the factor.
type term struct {
	n, t      float64
	d, l      int
	m         float64
	eta, eps  float64
	beta, gam float64
}

// simple reports whether only n τ^t δ^d exp(−δ^l) is left of the term.
func (k *term) simple() bool { return k.m == 0 && k.eta == 0 && k.beta == 0 }

const (
	maxD = 11 // highest exponent d of the equations held
	maxL = 4  // highest exponent l
)

// residual is the residual part of an equation. Simple terms that share d and l
// differ in temperature alone, and stand in one group; the rest are bells.
type residual struct {
	exponents []float64 // every t of the simple terms, once
	groups    []group
	bells     []term
}

// group is the sum of n τ^t over its terms, times δ^d exp(−δ^l).
type group struct {
	d, l  int
	terms []simpleTerm
}

// simpleTerm is n τ^t, t the exponent of the given place.
type simpleTerm struct {
	n, t  float64
	place int
}

// maxExponents is the most different t that an equation has; the blend of five
// components has some eighty.
const maxExponents = 160

// put adds the term, its factor n multiplied by scale.
func (r *residual) put(k term, scale float64) {
	k.n *= scale
	if !k.simple() {
		r.bells = append(r.bells, k)
		return
	}
	place := slices.Index(r.exponents, k.t)
	if place < 0 {
		place = len(r.exponents)
		r.exponents = append(r.exponents, k.t)
	}
	i := slices.IndexFunc(r.groups, func(g group) bool { return g.d == k.d && g.l == k.l })
	if i < 0 {
		i = len(r.groups)
		r.groups = append(r.groups, group{d: k.d, l: k.l})
	}
	g := &r.groups[i]
	if j := slices.IndexFunc(g.terms, func(s simpleTerm) bool { return s.place == place }); j >= 0 {
		g.terms[j].n += k.n
		return
	}
	g.terms = append(g.terms, simpleTerm{k.n, k.t, place})
}

// putAll adds every term of q, multiplied by scale.
func (r *residual) putAll(q *residual, scale float64) {
	for _, g := range q.groups {
		for _, k := range g.terms {
			r.put(term{n: k.n, t: k.t, d: g.d, l: g.l}, scale)
		}
	}
	for _, k := range q.bells {
		r.put(k, scale)
	}
}

// isotherm is a residual part at one temperature, a function of δ alone.
type isotherm struct {
	tau    float64
	count  int
	groups [maxD * (maxL + 1)]groupAt
	bells  []term
	lnTau  float64
	d, l   int // the highest among the groups
}

// groupAt is a group at a temperature: the sum of n τ^t, and of that times t
// and t(t−1).
type groupAt struct {
	a, t, tt float64
	d, l     int
}

// isotherm sets it to the residual part at τ.
func (r *residual) isotherm(it *isotherm, tau float64) {
	it.tau, it.lnTau, it.bells = tau, math.Log(tau), r.bells
	it.count = len(r.groups)
	it.d, it.l = 0, 0
	var power [maxExponents]float64 // τ^t
	for i, t := range r.exponents {
		power[i] = math.Exp(t * it.lnTau)
	}
	for i := range r.groups {
		g := &r.groups[i]
		at := groupAt{d: g.d, l: g.l}
		for _, k := range g.terms {
			a := k.n * power[k.place]
			at.a += a
			at.t += a * k.t
			at.tt += a * k.t * (k.t - 1)
		}
		it.groups[i] = at
		it.d, it.l = max(it.d, g.d), max(it.l, g.l)
	}
}

// at returns αʳ and its derivatives at δ.
//
// With D = ∂ ln a/∂ ln δ of the term a, every derivative along δ is a times a
// polynomial of D and its own derivative; τ enters each term separately.
func (it *isotherm) at(del float64) derivs {
	var power [maxD + 1]float64 // δ^d
	power[0] = 1
	for d := 1; d <= max(it.d, it.l); d++ {
		power[d] = power[d-1] * del
	}
	var decay [maxL + 1]float64 // exp(−δ^l)
	decay[0] = 1
	for l := 1; l <= it.l; l++ {
		decay[l] = math.Exp(-power[l])
	}
	var sum derivs
	for i := range it.count {
		g := &it.groups[i]
		f := power[g.d] * decay[g.l]
		D := float64(g.d)
		DD := D * (D - 1)
		if g.l > 0 {
			x := float64(g.l) * power[g.l]
			D -= x
			DD = D*(D-1) - float64(g.l)*x
		}
		sum.a += g.a * f
		sum.d += g.a * f * D
		sum.t += g.t * f
		sum.dd += g.a * f * DD
		sum.dt += g.t * f * D
		sum.tt += g.tt * f
	}
	if len(it.bells) > 0 {
		lnDel := math.Log(del)
		for i := range it.bells {
			it.bells[i].add(&sum, it.tau, del, it.lnTau, lnDel)
		}
	}
	return sum
}

// add adds the term at (τ, δ) to sum, given the logarithms of both.
func (k *term) add(sum *derivs, tau, del, lnTau, lnDel float64) {
	e := k.t*lnTau + float64(k.d)*lnDel
	D, T := float64(k.d), k.t
	var dD, dT float64 // δ ∂D/∂δ, τ ∂T/∂τ
	if k.l != 0 {
		l := float64(k.l)
		x := math.Exp(l * lnDel)
		e -= x
		D -= l * x
		dD -= l * l * x
	}
	if k.m != 0 {
		x := math.Exp(k.m * lnTau)
		e -= x
		T -= k.m * x
		dT -= k.m * k.m * x
	}
	if k.eta != 0 || k.beta != 0 {
		x, y := del-k.eps, tau-k.gam
		e -= k.eta*x*x + k.beta*y*y
		D -= 2 * k.eta * del * x
		dD -= 2 * k.eta * del * (x + del)
		T -= 2 * k.beta * tau * y
		dT -= 2 * k.beta * tau * (y + tau)
	}
	a := k.n * math.Exp(e)
	sum.a += a
	sum.d += a * D
	sum.t += a * T
	sum.dd += a * (D*D - D + dD)
	sum.dt += a * D * T
	sum.tt += a * (T*T - T + dT)
}

// ideal is the ideal-gas part but for its ln δ,
//
//	constant + linear·τ + log·ln τ + Σ c τ^t + Σ c ln(1 − exp(−θτ))
type ideal struct {
	constant, linear, log float64
	powers                []coefficient // exponent t
	einstein              []coefficient // exponent θ
}

// coefficient is a factor c with what stands in the exponent beside it.
type coefficient struct{ c, x float64 }

func (i *ideal) at(tau float64) derivs {
	lnTau := math.Log(tau)
	r := derivs{
		a:  i.constant + i.linear*tau + i.log*lnTau,
		t:  i.linear*tau + i.log,
		tt: -i.log,
	}
	for _, k := range i.powers {
		a := k.c * math.Exp(k.x*lnTau)
		r.a += a
		r.t += a * k.x
		r.tt += a * k.x * (k.x - 1)
	}
	for _, k := range i.einstein {
		x := k.x * tau
		q := 1 / math.Expm1(x) // e^−x/(1 − e^−x)
		r.a += k.c * math.Log(-math.Expm1(-x))
		r.t += k.c * x * q
		r.tt -= k.c * x * x * q * (1 + q)
	}
	return r
}

// idealPart is the ideal part of one component in its own reduced variables.
type idealPart struct {
	weight             float64 // mole fraction, times the gas constant of the component over that of the equation
	reduceT, reduceRho float64 // K, mol/m³
	ideal              *ideal
	mixing             float64 // ln of the mole fraction
}

// equation is the equation of state of one fluid of fixed composition, in molar
// units.
type equation struct {
	molarMass   float64 // kg/mol
	gasConstant float64 // J/(mol·K), as the publication has it
	reduceT     float64 // K
	reduceRho   float64 // mol/m³
	ideal       []idealPart
	residual    residual
}

// residualAt returns αʳ and its derivatives at T in K and ρ in mol/m³.
func (q *equation) residualAt(T, rho float64) derivs {
	var it isotherm
	q.isothermAt(&it, T)
	return it.at(rho / q.reduceRho)
}

// isothermAt sets it to the residual part at T in K.
func (q *equation) isothermAt(it *isotherm, T float64) { q.residual.isotherm(it, q.reduceT/T) }

// pressure returns p in Pa and ∂p/∂ρ in J/mol on an isotherm of T in K at ρ in
// mol/m³.
func (q *equation) pressure(it *isotherm, T, rho float64) (p, dpdrho float64) {
	r := it.at(rho / q.reduceRho)
	RT := q.gasConstant * T
	return rho * RT * (1 + r.d), RT * (1 + 2*r.d + r.dd)
}

// point is a single-phase state in SI units per kilogram; enthalpy and entropy
// are those of the bare equation, without the shift to the reference state.
type point struct {
	T   float64 // K
	rho float64 // kg/m³
	p   float64 // Pa
	h   float64 // J/kg
	s   float64 // J/(kg·K)
	cv  float64 // J/(kg·K)
	cp  float64 // J/(kg·K)
	w   float64 // speed of sound, m/s
}

// at returns the state at T in K and ρ in mol/m³.
func (q *equation) at(T, rho float64) point {
	var it isotherm
	q.isothermAt(&it, T)
	i := q.idealAt(T)
	return q.on(&it, &i, T, rho)
}

// on returns the state on an isotherm of T in K, with the ideal part there, at
// ρ in mol/m³.
//
// published: the relations between α and the properties as in any modern
// equation of state, for example Lemmon 2003, section 2.
func (q *equation) on(it *isotherm, i *derivs, T, rho float64) point {
	r := it.at(rho / q.reduceRho)
	R := q.gasConstant / q.molarMass // J/(kg·K)
	cv := -(i.tt + r.tt)             // over R
	dpdT := 1 + r.d - r.dt           // over ρR
	dpdrho := 1 + 2*r.d + r.dd       // over RT
	cp := cv + dpdT*dpdT/dpdrho
	return point{
		T:   T,
		rho: rho * q.molarMass,
		p:   rho * q.gasConstant * T * (1 + r.d),
		h:   R * T * (1 + i.t + r.t + r.d),
		s:   R * (i.t + r.t - i.a - i.d*math.Log(rho) - r.a),
		cv:  R * cv,
		cp:  R * cp,
		w:   math.Sqrt(R * T * dpdrho * cp / cv),
	}
}

// idealAt returns the ideal part at T in K but for its ln ρ, of which d is the
// factor: each component alone, and what mixing adds.
func (q *equation) idealAt(T float64) derivs {
	var sum derivs
	for k := range q.ideal {
		part := &q.ideal[k]
		i := part.ideal.at(part.reduceT / T)
		sum.a += part.weight * (i.a + part.mixing - math.Log(part.reduceRho))
		sum.t += part.weight * i.t
		sum.tt += part.weight * i.tt
		sum.d += part.weight
	}
	return sum
}
