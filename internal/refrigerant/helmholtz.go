package refrigerant

import "math"

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
	n, t, d   float64
	l, m      float64
	eta, eps  float64
	beta, gam float64
}

// add adds the term at (τ, δ) to sum, given the logarithms of both.
//
// With D = ∂ ln a/∂ ln δ and T = ∂ ln a/∂ ln τ of the term a, every wanted
// derivative is a times a polynomial of D, T and their own derivatives; δ and τ
// enter each term separately, so that D does not depend on τ.
func (k *term) add(sum *derivs, tau, del, lnTau, lnDel float64) {
	e := k.t*lnTau + k.d*lnDel
	D, T := k.d, k.t
	var dD, dT float64 // δ ∂D/∂δ, τ ∂T/∂τ
	if k.l != 0 {
		x := math.Exp(k.l * lnDel)
		e -= x
		D -= k.l * x
		dD -= k.l * k.l * x
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

// ideal is the ideal-gas part without its ln δ,
//
//	constant + linear·τ + log·ln τ + Σ c τ^t + Σ c ln(1 − exp(−θτ))
type ideal struct {
	constant, linear, log float64
	powers                []coefficient // exponent t
	einstein              []coefficient // exponent θ
}

// coefficient is a factor c with what stands in the exponent beside it.
type coefficient struct{ c, x float64 }

func (i *ideal) at(tau, del float64) derivs {
	lnTau := math.Log(tau)
	r := derivs{
		a:  math.Log(del) + i.constant + i.linear*tau + i.log*lnTau,
		d:  1,
		t:  i.linear*tau + i.log,
		dd: -1,
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

// equation is the equation of state of one fluid, in molar units.
type equation struct {
	molarMass   float64 // kg/mol
	gasConstant float64 // J/(mol·K), as the publication has it
	reduceT     float64 // K
	reduceRho   float64 // mol/m³
	ideal       ideal
	residual    []term
}

// residualAt returns αʳ and its derivatives.
func (q *equation) residualAt(tau, del float64) derivs {
	var sum derivs
	lnTau, lnDel := math.Log(tau), math.Log(del)
	for i := range q.residual {
		q.residual[i].add(&sum, tau, del, lnTau, lnDel)
	}
	return sum
}

// pressure returns p in Pa and ∂p/∂ρ in J/mol at T in K and ρ in mol/m³.
func (q *equation) pressure(T, rho float64) (p, dpdrho float64) {
	r := q.residualAt(q.reduceT/T, rho/q.reduceRho)
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
	cp  float64 // J/(kg·K)
	w   float64 // speed of sound, m/s
}

// at returns the state at T in K and ρ in mol/m³.
//
// published: the relations between α and the properties as in any modern
// equation of state, for example Lemmon 2003, section 2.
func (q *equation) at(T, rho float64) point {
	tau, del := q.reduceT/T, rho/q.reduceRho
	i, r := q.ideal.at(tau, del), q.residualAt(tau, del)
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
		s:   R * (i.t + r.t - i.a - r.a),
		cp:  R * cp,
		w:   math.Sqrt(R * T * dpdrho * cp / cv),
	}
}
