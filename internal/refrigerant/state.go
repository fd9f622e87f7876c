package refrigerant

import (
	"fmt"
	"math"

	"rung/internal/quantity"
)

// Phase is the phase of a single-phase state.
type Phase string

// The phases. Above the critical temperature a fluid is Vapour below the
// critical pressure and Supercritical above it.
const (
	Liquid        Phase = "liquid"
	Vapour        Phase = "vapour"
	Supercritical Phase = "supercritical"
)

// State is a single-phase state.
type State struct {
	Phase        Phase
	Density      quantity.Density
	Enthalpy     quantity.SpecificEnthalpy
	Entropy      quantity.SpecificEntropy
	HeatCapacity quantity.SpecificHeat // at constant pressure
	SpeedOfSound quantity.Speed
}

// TwoPhaseError says that pressure and temperature lie between the bubble and
// the dew line, where they do not determine a state.
type TwoPhaseError struct {
	Pressure    quantity.Pressure
	Temperature quantity.Temperature
	Dew, Bubble quantity.Pressure // at Temperature
}

func (e *TwoPhaseError) Error() string {
	return fmt.Sprintf("refrigerant.StateAt: at %g K, %g Pa lies between the dew pressure %g Pa and the bubble pressure %g Pa: liquid and vapour together",
		e.Temperature, e.Pressure, e.Dew, e.Bubble)
}

// minPressure is the lowest pressure answered, in Pa: far below any vacuum
// that the trade pulls (500 micron are 67 Pa), and far above the underflow of
// float64.
const minPressure = 1.0

// StateAt returns the single-phase state at the absolute pressure p and the
// temperature t.
//
// The limits are those of the published equation (its melting line is not
// modelled); outside them the error is a *quantity.RangeError. Between bubble
// and dew line, and exactly on the line of a pure fluid, it is a
// *TwoPhaseError. Nearer to the critical temperature than SaturationRange goes
// (1 K or less, on either side) a pressure within 5 % of saturation or of the
// critical pressure is refused with a *quantity.RangeError: neither the phase
// nor the density is determined there to any use.
func (f *Fluid) StateAt(p quantity.Pressure, t quantity.Temperature) (State, error) {
	const op = "refrigerant.StateAt"
	T, P := t.Kelvin(), p.Pascal()
	if err := quantity.CheckRange(op, "temperature", T, f.minT, f.maxT, "K"); err != nil {
		return State{}, err
	}
	if err := quantity.CheckRange(op, "pressure", P, minPressure, f.maxP, "Pa"); err != nil {
		return State{}, err
	}
	phase, b, err := f.phaseAt(P, T)
	if err != nil {
		return State{}, err
	}
	rho, err := f.density(T, P, b)
	if err != nil {
		return State{}, fmt.Errorf("%s: %w", op, err)
	}
	return f.pointAt(T, rho).state(phase), nil
}

// phaseAt tells the phase at p in Pa and T in K, and on which branch of the
// isotherm its density lies.
func (f *Fluid) phaseAt(p, T float64) (Phase, branch, error) {
	topT, topP := f.topTemp(), f.topPressure()
	if T >= topT {
		if T-topT < f.critT-f.satMaxT && math.Abs(p-f.critP) < lineMargin*f.critP {
			return "", 0, f.tooNear(T)
		}
		if p > f.critP {
			return Supercritical, fluidBranch, nil
		}
		return Vapour, fluidBranch, nil
	}
	dew, bubble, err := f.linePressures(p, T, topP)
	switch {
	case err != nil:
		return "", 0, err
	case T >= f.critT && p > bubble:
		return Supercritical, fluidBranch, nil
	case p > bubble || p == bubble && f.oneFluid:
		return Liquid, liquidBranch, nil
	case p < dew || p == dew && f.oneFluid:
		return Vapour, vapourBranch, nil
	}
	return "", 0, &TwoPhaseError{
		Pressure: quantity.Pressure(p), Temperature: quantity.Temperature(T),
		Dew: quantity.Pressure(dew), Bubble: quantity.Pressure(bubble),
	}
}

// lineMargin is how far from the guess of saturation pressure, relative, a
// pressure is on the side that it seems to be. The fits of pure fluids are
// right to 0.1 % or better, the traced lines of blends too; this is ample.
const lineMargin = 0.05

// linePressures returns dew and bubble pressure in Pa at T in K, where there
// are two phases at some pressure up to topP. Where the guesses alone decide on
// which side of the lines p lies, they are returned in place of the exact
// pressures.
func (f *Fluid) linePressures(p, T, topP float64) (dew, bubble float64, err error) {
	dew, bubble = f.guessPressures(T, topP)
	if p < dew*(1-lineMargin) || p > bubble*(1+lineMargin) {
		return dew, bubble, nil
	}
	if T < f.satMinT || T > f.satMaxT {
		return 0, 0, f.tooNear(T)
	}
	s, err := f.saturationAt(T)
	return s.pDew, s.pBub, err
}

// guessPressures returns about the dew and the bubble pressure in Pa at T in K;
// above the temperatures of the bubble line of a blend, the highest pressure of
// two phases stands for the latter.
func (f *Fluid) guessPressures(T, topP float64) (dew, bubble float64) {
	b := f.blend
	if b == nil {
		return f.dewFit.at(T), f.bubbleFit.at(T)
	}
	dew, bubble = f.critP, topP
	if at, ok := b.dew.atTemp(math.Min(math.Log(T), b.dew.last().lnT), len(b.fluids)); ok {
		dew = math.Exp(at.lnp)
	}
	if at, ok := b.bubble.atTemp(math.Log(T), len(b.fluids)); ok {
		bubble = math.Exp(at.lnp)
	}
	return dew, bubble
}

// tooNear refuses a state at saturation outside the range of the saturation
// line, or at the critical point.
func (f *Fluid) tooNear(T float64) error {
	return &quantity.RangeError{Op: "refrigerant.StateAt", Name: "temperature so near to saturation",
		Value: T, Min: f.satMinT, Max: f.satMaxT, Unit: "K"}
}
