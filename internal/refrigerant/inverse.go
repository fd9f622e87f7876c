package refrigerant

import (
	"fmt"
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// TwoPhase is the phase of liquid and vapour together.
const TwoPhase Phase = "liquid and vapour"

// Full is a state of one phase or of two, with all that determines it.
//
// Quality is the share of the mass that is vapour: 0 and 1 on the bubble and
// the dew line, NaN in a single phase. Of two phases together HeatCapacity and
// SpeedOfSound are NaN.
type Full struct {
	State
	Pressure    quantity.Pressure
	Temperature quantity.Temperature
	Quality     float64
}

// StateAtEnthalpy returns the state at the absolute pressure p and the specific
// enthalpy h.
//
// What lies between bubble and dew line is parted into liquid and vapour in
// equilibrium; of a blend treated as one fluid temperature and density follow
// the straight line between both ends, which its equation knows alone. Limits
// are those of StateAt and of the saturation line; outside them, and where p
// lies between the end of that line and the critical pressure, the error is a
// *quantity.RangeError.
func (f *Fluid) StateAtEnthalpy(p quantity.Pressure, h quantity.SpecificEnthalpy) (Full, error) {
	return f.along("refrigerant.StateAtEnthalpy", p, byEnthalpy, float64(h))
}

// StateAtEntropy returns the state at the absolute pressure p and the specific
// entropy s. Limits and errors are those of StateAtEnthalpy.
func (f *Fluid) StateAtEntropy(p quantity.Pressure, s quantity.SpecificEntropy) (Full, error) {
	return f.along("refrigerant.StateAtEntropy", p, byEntropy, float64(s))
}

// names of the coordinates, and their units.
var coordinateName = map[coordinate][2]string{byEnthalpy: {"enthalpy", "J/kg"}, byEntropy: {"entropy", "J/(kg·K)"}}

// along returns the state on the isobar p whose coordinate has the value want.
func (f *Fluid) along(op string, pressure quantity.Pressure, by coordinate, want float64) (Full, error) {
	p := pressure.Pascal()
	if err := quantity.CheckRange(op, "pressure", p, minPressure, f.maxP, "Pa"); err != nil {
		return Full{}, err
	}
	if p > f.satMaxP && p <= f.topPressure() {
		return Full{}, &quantity.RangeError{Op: op, Name: "pressure so near to the critical", Value: p,
			Min: f.satMaxP, Max: f.topPressure(), Unit: "Pa"}
	}
	lo, hi, err := f.isobarEnds(p, by)
	if err != nil {
		return Full{}, fmt.Errorf("%s: %w", op, err)
	}
	name := coordinateName[by]
	if err := quantity.CheckRange(op, name[0], want, lo, hi, name[1]); err != nil {
		return Full{}, err
	}
	full, err := f.onIsobar(p, by, want)
	if err != nil {
		return Full{}, fmt.Errorf("%s: %w", op, err)
	}
	return full, nil
}

// topPressure returns the pressure in Pa above which there are no two phases.
func (f *Fluid) topPressure() float64 {
	if f.blend != nil {
		return f.blend.topP
	}
	return f.critP
}

// isobarFrom returns the lowest temperature in K at which an isobar is looked
// for: below the pressures of the saturation line only its vapour is.
func (f *Fluid) isobarFrom(p float64) float64 {
	if p < f.satMinP {
		return f.satMinT
	}
	return f.minT
}

// isobarEnds returns the coordinate at both ends of the isobar p in Pa.
func (f *Fluid) isobarEnds(p float64, by coordinate) (lo, hi float64, err error) {
	var ends [2]float64
	for i, T := range []float64{f.isobarFrom(p), f.maxT} {
		_, side, err := f.phaseAt(p, T)
		if err != nil {
			return 0, 0, err
		}
		rho, err := f.density(T, p, side)
		if err != nil {
			return 0, 0, err
		}
		ends[i] = by.of(f.pointAt(T, rho))
	}
	return ends[0], ends[1], nil
}

// onIsobar returns the state on the isobar p in Pa whose coordinate has the
// value want, which is known to be within the range of the equation.
func (f *Fluid) onIsobar(p float64, by coordinate, want float64) (Full, error) {
	if p < f.satMinP || p > f.satMaxP {
		return f.onUndividedIsobar(p, by, want)
	}
	s, err := f.saturationOf(p)
	if err != nil {
		return Full{}, err
	}
	liquid, vapour := f.ends(s)
	l, v := by.of(liquid), by.of(vapour)
	switch {
	case want < l:
		pt, err := f.offDome(p, liquid, by, want)
		return f.full(Liquid, pt, p), err
	case want > v:
		pt, err := f.offDome(p, vapour, by, want)
		return f.full(Vapour, pt, p), err
	case f.blend != nil:
		return f.splitBy(p, by, want)
	}
	return twoPhases(p, s.TBub, s.TDew, (want-l)/(v-l), liquid, vapour), nil
}

// full completes the state of one phase.
func (f *Fluid) full(phase Phase, pt point, p float64) Full {
	if pt.T > f.critT {
		phase = Vapour
		if p > f.critP {
			phase = Supercritical
		}
	}
	return Full{State: pt.state(phase), Pressure: quantity.Pressure(p), Temperature: quantity.Temperature(pt.T), Quality: math.NaN()}
}

// state gives a point the types of the interface.
func (pt point) state(phase Phase) State {
	return State{
		Phase:        phase,
		Density:      quantity.Density(pt.rho),
		Enthalpy:     quantity.SpecificEnthalpy(pt.h),
		Entropy:      quantity.SpecificEntropy(pt.s),
		HeatCapacity: quantity.SpecificHeat(pt.cp),
		SpeedOfSound: quantity.Speed(pt.w),
	}
}

// twoPhases mixes liquid and vapour, q the share of the mass that is vapour.
func twoPhases(p, TBub, TDew, q float64, l, v point) Full {
	return Full{
		State: State{
			Phase:        TwoPhase,
			Density:      quantity.Density(1 / ((1-q)/l.rho + q/v.rho)),
			Enthalpy:     quantity.SpecificEnthalpy((1-q)*l.h + q*v.h),
			Entropy:      quantity.SpecificEntropy((1-q)*l.s + q*v.s),
			HeatCapacity: quantity.SpecificHeat(math.NaN()),
			SpeedOfSound: quantity.Speed(math.NaN()),
		},
		Pressure:    quantity.Pressure(p),
		Temperature: quantity.Temperature((1-q)*TBub + q*TDew),
		Quality:     q,
	}
}

// onUndividedIsobar searches an isobar that does not cross the dome within the
// temperatures of the equation.
func (f *Fluid) onUndividedIsobar(p float64, by coordinate, want float64) (Full, error) {
	const tol = 1e-9 // K
	at := func(T float64) (point, error) {
		side := vapourBranch
		switch {
		case T >= f.topTemp():
			side = fluidBranch
		case p > f.satMaxP:
			side = liquidBranch
		}
		rho, err := f.density(T, p, side)
		return f.pointAt(T, rho), err
	}
	var failed error
	T, err := num.Root("refrigerant.isobar", func(T float64) float64 {
		pt, err := at(T)
		if err != nil {
			if failed == nil {
				failed = err
			}
			return math.NaN()
		}
		return by.of(pt) - want
	}, f.isobarFrom(p), f.maxT, tol)
	if failed != nil {
		return Full{}, failed
	}
	if err != nil {
		return Full{}, err
	}
	phase, _, err := f.phaseAt(p, T) // refuses what is too near to the critical point
	if err != nil {
		return Full{}, err
	}
	pt, err := at(T)
	return f.full(phase, pt, p), err
}

// splitBy returns the two phases of a blend at p in Pa together with the
// coordinate at the value want: the temperature is searched between the lines.
func (f *Fluid) splitBy(p float64, by coordinate, want float64) (Full, error) {
	const tol = 1e-9 // K
	b := f.blend
	bub, dew, err := b.both(givenPressure, p)
	if err != nil {
		return Full{}, err
	}
	var full Full
	var failed error
	at := func(T float64) float64 {
		s, err := b.splitAt(p, T, &bub, &dew)
		if err != nil {
			failed = err
			return math.NaN()
		}
		full = f.fullSplit(&s)
		if by == byEntropy {
			return float64(full.Entropy) - want
		}
		return float64(full.Enthalpy) - want
	}
	lo, hi := math.Exp(bub.lnT), math.Exp(dew.lnT)
	if hi-lo < tol { // an azeotrope boils at one temperature
		s := twoPhase{TBub: lo, TDew: hi, pBub: p, pDew: p, rhoLiq: math.Exp(bub.whole), rhoVap: math.Exp(dew.whole)}
		l, v := f.ends(s)
		return twoPhases(p, lo, hi, (want-by.of(l))/(by.of(v)-by.of(l)), l, v), nil
	}
	T, err := num.Root("refrigerant.split", at, lo, hi, tol)
	if failed != nil {
		return Full{}, failed
	}
	if err != nil {
		return Full{}, err
	}
	at(T)
	return full, failed
}

// fullSplit completes the state of two phases of a blend.
func (f *Fluid) fullSplit(s *flashed) Full {
	l, v := f.blend.phasePoint(s.T, &s.liquid), f.blend.phasePoint(s.T, &s.vapour)
	mL, mV := l.rho*s.volumeL, v.rho*s.volumeV // kg per mole of the whole
	return twoPhases(s.p, s.T, s.T, mV/(mL+mV), f.shift(l), f.shift(v))
}

// phasePoint returns the state of one phase of a blend, with the enthalpy and
// entropy of the bare equations.
func (b *blend) phasePoint(T float64, conc *vector) point {
	var r float64
	x := make([]float64, len(b.fluids))
	for i := range x {
		r += conc[i]
	}
	for i := range x {
		x[i] = conc[i] / r
	}
	q := b.equation(x)
	return q.at(T, r)
}

// StateAtDensity returns the state at the temperature t and the density rho.
//
// Between the lines it parts the fluid as StateAtEnthalpy does. Limits are
// those of StateAt; outside them the error is a *quantity.RangeError.
func (f *Fluid) StateAtDensity(t quantity.Temperature, rho quantity.Density) (Full, error) {
	const op = "refrigerant.StateAtDensity"
	T, r := t.Kelvin(), float64(rho)/f.eq.molarMass // mol/m³
	if err := quantity.CheckRange(op, "temperature", T, f.minT, f.maxT, "K"); err != nil {
		return Full{}, err
	}
	least, most, err := f.densityEnds(T)
	if err != nil {
		return Full{}, fmt.Errorf("%s: %w", op, err)
	}
	if err := quantity.CheckRange(op, "density", float64(rho), least, most, "kg/m³"); err != nil {
		return Full{}, err
	}
	phase := Vapour
	if T < f.topTemp() {
		within := math.Min(math.Max(T, f.satMinT), f.satMaxT)
		s, err := f.saturationAt(within)
		if err != nil {
			return Full{}, err
		}
		between := s.rhoVap < r && r < s.rhoLiq
		switch {
		case between && within != T:
			return Full{}, &quantity.RangeError{Op: op, Name: "temperature of two phases", Value: T, Min: f.satMinT, Max: f.satMaxT, Unit: "K"}
		case between && f.blend != nil:
			return f.splitOfDensity(T, r)
		case between:
			l, v := f.ends(s)
			q := (1/r - 1/s.rhoLiq) / (1/s.rhoVap - 1/s.rhoLiq)
			full := twoPhases((1-q)*s.pBub+q*s.pDew, T, T, q, l, v)
			return full, nil
		case r >= s.rhoLiq:
			phase = Liquid
		}
	}
	pt := f.pointAt(T, r)
	if T >= f.critT && pt.p > f.critP {
		phase = Supercritical
	}
	return Full{State: pt.state(phase), Pressure: quantity.Pressure(pt.p), Temperature: t, Quality: math.NaN()}, nil
}

// densityEnds returns the densities in kg/m³ at T in K at the lowest and the
// highest pressure answered.
func (f *Fluid) densityEnds(T float64) (least, most float64, err error) {
	side, dense := fluidBranch, fluidBranch
	if T < f.critT {
		side, dense = vapourBranch, liquidBranch
	}
	if least, err = f.density(T, minPressure, side); err != nil {
		return 0, 0, err
	}
	most, err = f.density(T, f.maxP, dense)
	return least * f.eq.molarMass, most * f.eq.molarMass, err
}

// topTemp returns the temperature in K above which there are no two phases.
func (f *Fluid) topTemp() float64 {
	if f.blend != nil {
		return f.blend.topT
	}
	return f.critT
}

// splitOfDensity returns the two phases of a blend at T in K and the molar
// density r in mol/m³.
func (f *Fluid) splitOfDensity(T, r float64) (Full, error) {
	b := f.blend
	bub, dew, err := b.both(givenTemp, T)
	if err != nil {
		return Full{}, err
	}
	s, err := b.splitOf(1/r, &bub, &dew)
	if err != nil {
		return Full{}, fmt.Errorf("refrigerant.StateAtDensity: %w", err)
	}
	return f.fullSplit(&s), nil
}
