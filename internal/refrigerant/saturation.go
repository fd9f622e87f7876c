package refrigerant

import (
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// Saturation is a state of boiling or condensing. Liquid properties are those
// at the bubble point, vapour properties those at the dew point.
//
// Taken at a temperature, BubbleTemp and DewTemp are that temperature and the
// pressures differ for a blend; taken at a pressure, the temperatures differ.
type Saturation struct {
	BubbleTemp, DewTemp            quantity.Temperature
	BubblePressure, DewPressure    quantity.Pressure
	LiquidDensity, VapourDensity   quantity.Density
	LiquidEnthalpy, VapourEnthalpy quantity.SpecificEnthalpy
	LiquidEntropy, VapourEntropy   quantity.SpecificEntropy
}

// SaturationAtTemp returns the saturation state at the temperature t.
//
// Outside SaturationRange the error is a *quantity.RangeError.
func (f *Fluid) SaturationAtTemp(t quantity.Temperature) (Saturation, error) {
	const op = "refrigerant.SaturationAtTemp"
	T := t.Kelvin()
	if err := quantity.CheckRange(op, "temperature", T, f.satMinT, f.satMaxT, "K"); err != nil {
		return Saturation{}, err
	}
	s, err := f.saturationAt(T)
	if err != nil {
		return Saturation{}, err
	}
	return f.saturation(s), nil
}

// SaturationAtPressure returns the saturation state at the absolute pressure p.
//
// Outside the pressures of SaturationRange the error is a *quantity.RangeError.
func (f *Fluid) SaturationAtPressure(p quantity.Pressure) (Saturation, error) {
	const op = "refrigerant.SaturationAtPressure"
	if err := quantity.CheckRange(op, "pressure", p.Pascal(), f.satMinP, f.satMaxP, "Pa"); err != nil {
		return Saturation{}, err
	}
	s, err := f.saturationOf(p.Pascal())
	if err != nil {
		return Saturation{}, err
	}
	return f.saturation(s), nil
}

// saturationPressures returns the pressures in Pa at which both lines are
// within the temperature range.
func (f *Fluid) saturationPressures() (lo, hi float64, err error) {
	if b := f.blend; b != nil {
		lo = math.Max(b.bubble.nodes[0].lnp, b.dew.nodes[0].lnp)
		hi = math.Min(b.bubble.last().lnp, b.dew.last().lnp)
		return math.Exp(lo), math.Exp(hi), nil
	}
	a, err := f.saturationAt(f.satMinT)
	if err != nil {
		return 0, 0, err
	}
	b, err := f.saturationAt(f.satMaxT)
	return a.pBub, b.pDew, err
}

// twoPhase is a pair of states on the bubble and the dew line.
type twoPhase struct {
	TBub, TDew     float64 // K
	pBub, pDew     float64 // Pa
	rhoLiq, rhoVap float64 // mol/m³
}

func (f *Fluid) saturation(s twoPhase) Saturation {
	l, v := f.ends(s)
	return Saturation{
		BubbleTemp:     quantity.Temperature(s.TBub),
		DewTemp:        quantity.Temperature(s.TDew),
		BubblePressure: quantity.Pressure(s.pBub),
		DewPressure:    quantity.Pressure(s.pDew),
		LiquidDensity:  quantity.Density(l.rho),
		VapourDensity:  quantity.Density(v.rho),
		LiquidEnthalpy: quantity.SpecificEnthalpy(l.h),
		VapourEnthalpy: quantity.SpecificEnthalpy(v.h),
		LiquidEntropy:  quantity.SpecificEntropy(l.s),
		VapourEntropy:  quantity.SpecificEntropy(v.s),
	}
}

// ends returns the boiling liquid and the condensing vapour.
func (f *Fluid) ends(s twoPhase) (liquid, vapour point) {
	var it isotherm
	f.eq.isothermAt(&it, s.TBub)
	i := f.eq.idealAt(s.TBub)
	liquid = f.shift(f.eq.on(&it, &i, s.TBub, s.rhoLiq))
	if s.TDew != s.TBub {
		f.eq.isothermAt(&it, s.TDew)
		i = f.eq.idealAt(s.TDew)
	}
	return liquid, f.shift(f.eq.on(&it, &i, s.TDew, s.rhoVap))
}

// saturationAt returns both lines at T in K.
func (f *Fluid) saturationAt(T float64) (twoPhase, error) {
	if f.blend != nil {
		return f.blend.saturation(givenTemp, T)
	}
	if !f.oneFluid {
		return f.equilibrium(T)
	}
	return f.onFits(T, T, f.bubbleFit.at(T), f.dewFit.at(T))
}

// saturationOf returns both lines at p in Pa.
func (f *Fluid) saturationOf(p float64) (twoPhase, error) {
	if f.blend != nil {
		return f.blend.saturation(givenPressure, p)
	}
	TBub, err := f.invert(f.bubbleFit, p)
	if err != nil {
		return twoPhase{}, err
	}
	if !f.oneFluid {
		return f.equilibriumOf(p, TBub)
	}
	TDew, err := f.invert(f.dewFit, p)
	if err != nil {
		return twoPhase{}, err
	}
	return f.onFits(TBub, TDew, p, p)
}

// bubbleDensity returns the molar density of the liquid at the bubble point at
// T in K.
func (f *Fluid) bubbleDensity(T float64) (float64, error) {
	if b := f.blend; b != nil {
		at, err := b.on(&b.bubble, givenTemp, T)
		return math.Exp(at.whole), err
	}
	s, err := f.saturationAt(T)
	return s.rhoLiq, err
}

// saturation returns both lines at a temperature in K or a pressure in Pa.
func (b *blended) saturation(fixed given, value float64) (twoPhase, error) {
	bub, dew, err := b.both(fixed, value)
	s := twoPhase{
		TBub: math.Exp(bub.lnT), TDew: math.Exp(dew.lnT),
		pBub: math.Exp(bub.lnp), pDew: math.Exp(dew.lnp),
		rhoLiq: math.Exp(bub.whole), rhoVap: math.Exp(dew.whole),
	}
	if fixed == givenTemp {
		s.TBub, s.TDew = value, value
	} else {
		s.pBub, s.pDew = value, value
	}
	return s, err
}

// both returns the points of both lines at a temperature in K or a pressure in
// Pa.
func (b *blended) both(fixed given, value float64) (bub, dew boundary, err error) {
	if bub, err = b.on(&b.bubble, fixed, value); err == nil {
		dew, err = b.on(&b.dew, fixed, value)
	}
	return bub, dew, err
}

// on returns the point of a line at a temperature in K or a pressure in Pa.
func (b *blended) on(tr *traced, fixed given, value float64) (boundary, error) {
	guess := tr.atTemp
	if fixed == givenPressure {
		guess = tr.atPressure
	}
	at, ok := guess(math.Log(value), len(b.fluids))
	if !ok {
		first, last := tr.nodes[0], tr.last()
		return at, &num.ConvergenceError{Op: "refrigerant.boundary", Lo: math.Exp(first.lnT), Hi: math.Exp(last.lnT)}
	}
	err := b.solve(&at, tr.line, fixed)
	if err != nil && fixed == givenPressure {
		return b.search(tr, math.Log(value))
	}
	return at, err
}

// search returns the point of a line at ln p by points at given temperatures,
// between the nodes around it: slower, and sure near the critical point, where
// temperature and pressure together lead Newton's method astray.
func (b *blended) search(tr *traced, lnp float64) (boundary, error) {
	const tol = 1e-13 // of ln T
	n := len(b.fluids)
	c := tr.cell(func(x *node) float64 { return x.lnp }, lnp)
	var at boundary
	var failed error
	lnT, err := num.Root("refrigerant.boundary", func(lnT float64) float64 {
		at, _ = tr.atTemp(lnT, n)
		if failed = b.solve(&at, tr.line, givenTemp); failed != nil {
			return math.NaN()
		}
		return at.lnp - lnp
	}, c[0].lnT, c[1].lnT, tol)
	if failed != nil {
		return at, failed
	}
	if err == nil {
		at, _ = tr.atTemp(lnT, n)
		err = b.solve(&at, tr.line, givenTemp)
	}
	return at, err
}

// invert returns the temperature in K at which the pressure fit has the value
// p in Pa, by Newton's method: ln p is nearly straight over 1/T, and bends so
// that no step leads past the answer for long.
func (f *Fluid) invert(line *fit, p float64) (float64, error) {
	const (
		maxIter = 50
		tol     = 1e-6 // K; Newton's next error is about its square
	)
	// The fit of a pure fluid is not exact: its inverse may lie just outside.
	lo, hi := f.satMinT-1, line.T0-(line.T0-f.satMaxT)/2
	lnp := math.Log(p)
	T := 0.8 * line.T0
	var miss float64
	for range maxIter {
		ln, slope := line.lnAt(T)
		miss = lnp - ln
		next := 1 / (1/T - miss/(slope*T*T)) // straight over 1/T
		if !(lo <= next && next <= hi) {
			next = math.Max(lo, math.Min(hi, (lo+T)/2))
			if miss > 0 {
				next = (T + hi) / 2
			}
		}
		if math.Abs(next-T) < tol {
			return next, nil
		}
		T = next
	}
	return 0, &num.ConvergenceError{Op: "refrigerant.saturationTemp", Iterations: maxIter, Residual: miss, Lo: lo, Hi: hi}
}

// onFits returns the densities that the equation of state of a blend has at
// the given bubble and dew points.
func (f *Fluid) onFits(TBub, TDew, pBub, pDew float64) (twoPhase, error) {
	s := twoPhase{TBub: TBub, TDew: TDew, pBub: pBub, pDew: pDew}
	var err error
	if s.rhoLiq, err = f.density(TBub, pBub, liquidBranch); err != nil {
		return twoPhase{}, err
	}
	s.rhoVap, err = f.density(TDew, pDew, vapourBranch)
	return s, err
}

// equilibrium returns the liquid and the vapour of a pure fluid that have
// equal pressure and equal Gibbs energy at T in K.
//
// Newton's method on both densities at once, for
//
//	J(δ) = δ(1 + δ∂αʳ/∂δ)        pressure over ρ*RT
//	K(δ) = δ∂αʳ/∂δ + αʳ + ln δ   Gibbs energy over RT, less what both share
//
// memory: the formulation of Akasaka 2008, J. Thermal Sci. Technol. 3(3).
func (f *Fluid) equilibrium(T float64) (twoPhase, error) {
	const (
		maxIter = 50
		tol     = 1e-7 // relative change of δ; Newton's next error is about its square
		noise   = 1e-6 // below it a step that does not shrink is rounding
	)
	var it isotherm
	f.eq.isothermAt(&it, T)
	dl := f.liquidFit.at(T) / f.eq.reduceRho
	dv := f.vapourFit.at(T) / f.eq.reduceRho
	step := math.Inf(1)
	for i := range maxIter {
		l, v := it.at(dl), it.at(dv)
		J := dv*(1+v.d) - dl*(1+l.d)
		K := v.d + v.a + math.Log(dv) - l.d - l.a - math.Log(dl)
		Jl, Jv := 1+2*l.d+l.dd, 1+2*v.d+v.dd
		// δ ∂K/∂δ equals ∂J/∂δ, so that the determinant needs no more.
		Kl, Kv := Jl/dl, Jv/dv
		det := Jl*Kv - Jv*Kl
		stepL := (J*Kv - K*Jv) / det
		stepV := (J*Kl - K*Jl) / det
		last := step
		step = math.Max(math.Abs(stepL/dl), math.Abs(stepV/dv))
		if step > 0.5 { // keep the densities positive and apart
			stepL, stepV = stepL*0.5/step, stepV*0.5/step
		}
		dl += stepL
		dv += stepV
		// Near the critical point rounding stops the steps from shrinking.
		if step < tol || i > 3 && step < noise && step >= last {
			rhoLiq, rhoVap := dl*f.eq.reduceRho, dv*f.eq.reduceRho
			p, _ := f.eq.pressure(&it, T, rhoVap)
			return twoPhase{TBub: T, TDew: T, pBub: p, pDew: p, rhoLiq: rhoLiq, rhoVap: rhoVap}, nil
		}
	}
	return twoPhase{}, &num.ConvergenceError{Op: "refrigerant.equilibrium", Iterations: maxIter, Residual: step, Lo: T, Hi: T}
}

// equilibriumOf returns the equilibrium of a pure fluid at p in Pa, from the
// guess T in K.
//
// Newton's method on the temperature and both densities: to first order the
// Gibbs energy changes by v·dp − s·dT, so that the step in temperature comes
// first and those of the densities follow.
func (f *Fluid) equilibriumOf(p, T float64) (twoPhase, error) {
	const (
		maxIter = 50
		tol     = 1e-7 // relative; Newton's next error is about its square
		noise   = 1e-6 // below it a step that does not shrink is rounding
	)
	T = math.Min(T, f.satMaxT)
	rl, rv := f.liquidFit.at(T), f.vapourFit.at(T) // mol/m³
	var it isotherm
	step := math.Inf(1)
	for i := range maxIter {
		f.eq.isothermAt(&it, T)
		l, v := it.at(rl/f.eq.reduceRho), it.at(rv/f.eq.reduceRho)
		RT := f.eq.gasConstant * T
		missL, missV := p-rl*RT*(1+l.d), p-rv*RT*(1+v.d)
		g := v.a + v.d + math.Log(rv/rl) - l.a - l.d // Gibbs energy over RT, vapour less liquid
		s := v.t - v.a - l.t + l.a - math.Log(rv/rl) // entropy over R
		dT := (g + (missV/rv-missL/rl)/RT) / s       // relative
		dl := (missL/RT - rl*(1+l.d-l.dt)*dT) / (1 + 2*l.d + l.dd)
		dv := (missV/RT - rv*(1+v.d-v.dt)*dT) / (1 + 2*v.d + v.dd)
		last := step
		step = math.Max(math.Abs(dT), math.Max(math.Abs(dl/rl), math.Abs(dv/rv)))
		part := 0.2 / math.Max(0.2, step) // keep the densities positive and apart
		T, rl, rv = T*(1+part*dT), rl+part*dl, rv+part*dv
		if step < tol || i > 3 && step < noise && step >= last {
			return twoPhase{TBub: T, TDew: T, pBub: p, pDew: p, rhoLiq: rl, rhoVap: rv}, nil
		}
	}
	return twoPhase{}, &num.ConvergenceError{Op: "refrigerant.equilibriumOf", Iterations: maxIter, Residual: step, Lo: T, Hi: T}
}
