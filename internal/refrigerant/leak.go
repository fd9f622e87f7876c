package refrigerant

import (
	"fmt"
	"math"

	"rung/internal/num"
	"rung/internal/quantity"
)

// Left is what a leak has left of a blend.
type Left struct {
	Parts    []Part            // of all that is left, liquid and vapour together
	Pressure quantity.Pressure // at rest, after the leak
	Liquid   bool              // some of it is liquid
}

// leakSteps is the number of steps over a leak; with it the steps change the
// shares by less than 1e-6 against ten times as many.
const leakSteps = 40

// Leak returns what is left of a charge of the blend f after the share lost of
// its mass has leaked slowly, as vapour, from a system at rest at the
// temperature t.
//
// liquidVolume is the share of the system's volume that liquid filled before.
// Liquid and vapour stay in equilibrium while the vapour, richer in what boils
// readily, escapes (published: Lord Rayleigh 1902, the distillation of
// mixtures; here with the vapour that stays in the system counted too). Once
// all liquid has gone the composition does not change further. A leak of liquid,
// or from a running system, changes the composition less; a real one lies
// between none of it and this.
//
// t must be on the saturation line, liquidVolume from 0.001 to 0.95 and lost
// from 0 to 0.99, or the error is a *quantity.RangeError. A pure refrigerant, and
// a blend treated as one fluid, keep their composition: the error says so.
func (f *Fluid) Leak(t quantity.Temperature, liquidVolume, lost float64) (Left, error) {
	const op = "refrigerant.Leak"
	if f.blend == nil {
		return Left{}, &CompositionError{Reason: f.name + " has one composition only; a blend by the mixing rules is needed"}
	}
	T := t.Kelvin()
	for _, c := range []struct {
		name            string
		value, min, max float64
		unit            string
	}{
		{"temperature", T, f.satMinT, f.satMaxT, "K"},
		{"liquid volume", liquidVolume, 0.001, 0.95, "of the volume"},
		{"share lost", lost, 0, 0.99, "of the mass"},
	} {
		if err := quantity.CheckRange(op, c.name, c.value, c.min, c.max, c.unit); err != nil {
			return Left{}, err
		}
	}
	left, err := f.blend.leak(T, liquidVolume, lost, leakSteps)
	if err != nil {
		return Left{}, fmt.Errorf("%s: %w", op, err)
	}
	return left, nil
}

// vessel is a blend in a closed volume of 1 m³.
type vessel struct {
	*mixture
	moles vector  // of every component
	split flashed // per mole
	dry   bool    // no liquid
}

// leak integrates over the mass lost, by the classical method of Runge and Kutta.
func (b *blended) leak(T, liquidVolume, lost float64, steps int) (Left, error) {
	v, err := b.fill(T, liquidVolume)
	if err != nil {
		return Left{}, err
	}
	first := v.mass()
	h := lost * first / float64(steps)
	for range steps {
		if v.dry || h == 0 {
			break // what is left leaks as it is
		}
		if err := v.step(h); err != nil {
			return Left{}, err
		}
	}
	left := Left{Liquid: !v.dry, Pressure: quantity.Pressure(v.split.p)}
	mass := v.mass()
	for i, f := range b.fluids {
		left.Parts = append(left.Parts, Part{Refrigerant: f.name, MassFraction: v.moles[i] * f.eq.molarMass / mass})
	}
	if v.dry {
		left.Pressure, err = v.gasPressure(T, (1-lost)*first)
	}
	return left, err
}

// fill returns the vessel with the composition of the blend and the given share
// of liquid.
func (b *blended) fill(T, liquidVolume float64) (vessel, error) {
	bub, dew, err := b.both(givenTemp, T)
	if err != nil {
		return vessel{}, err
	}
	var failed error
	var s flashed
	at := func(lnv float64) float64 {
		if s, failed = b.splitOf(math.Exp(lnv), &bub, &dew); failed != nil {
			return math.NaN()
		}
		return s.volumeL/(s.volumeL+s.volumeV) - liquidVolume
	}
	lnv, err := num.Root("refrigerant.fill", at, -bub.whole, -dew.whole, 1e-10)
	if failed != nil {
		return vessel{}, failed
	}
	if err != nil {
		return vessel{}, err
	}
	at(lnv)
	v := vessel{mixture: b.mixture, split: s}
	for i := range b.fluids {
		v.moles[i] = b.x[i] * math.Exp(-lnv)
	}
	return v, failed
}

func (v *vessel) mass() float64 {
	var sum float64
	for i, f := range v.fluids {
		sum += v.moles[i] * f.eq.molarMass
	}
	return sum
}

// step lets the mass h in kg go as vapour.
func (v *vessel) step(h float64) error {
	var k [4]vector
	moles := v.moles
	for i, part := range [4]float64{0, 0.5, 0.5, 1} {
		v.moles = moles
		if i > 0 {
			v.moles.add(&k[i-1], -part*h)
		}
		if err := v.settle(); err != nil || v.dry {
			return err
		}
		k[i] = v.vapourPerMass()
	}
	v.moles = moles
	for i, weight := range [4]float64{1. / 6, 1. / 3, 1. / 3, 1. / 6} {
		v.moles.add(&k[i], -weight*h)
	}
	return v.settle()
}

// add adds b times scale.
func (a *vector) add(b *vector, scale float64) {
	for i := range a {
		a[i] += scale * b[i]
	}
}

// vapourPerMass returns the moles of every component in a kilogram of the vapour.
func (v *vessel) vapourPerMass() vector {
	var mass float64
	for i, f := range v.fluids {
		mass += v.split.vapour[i] * f.eq.molarMass
	}
	k := v.split.vapour
	for i := range k {
		k[i] /= mass
	}
	return k
}

// settle brings liquid and vapour into equilibrium.
func (v *vessel) settle() error {
	b := blend{mixture: v.mixture}
	var n float64
	for i := range v.fluids {
		n += v.moles[i]
	}
	for i := range v.fluids {
		b.x[i] = v.moles[i] / n
	}
	scale := 1 / (n * (v.split.volumeL + v.split.volumeV)) // the split was of one mole of what was there before
	v.split.volumeL *= scale
	v.split.volumeV *= scale
	err := b.part(&v.split, givenVolume, 1/n)
	v.dry = err == nil && v.split.volumeL <= 0
	return err
}

// gasPressure returns the pressure of the vapour alone, of the given mass.
func (v *vessel) gasPressure(T, mass float64) (quantity.Pressure, error) {
	scale := mass / v.mass()
	conc := v.moles
	for i := range conc {
		conc[i] *= scale
	}
	var ph phase
	ph.set(v.mixture, T, &conc)
	return quantity.Pressure(ph.p), nil
}

// TopUp returns what becomes of a charge that is parts when the share added of
// the new whole is f as it comes from a full cylinder of liquid.
//
// added is from 0 to 1.
func (f *Fluid) TopUp(parts []Part, added float64) ([]Part, error) {
	if err := quantity.CheckRange("refrigerant.TopUp", "share added", added, 0, 1, "of the mass"); err != nil {
		return nil, err
	}
	share := map[string]float64{}
	var order []string
	put := func(parts []Part, scale float64) {
		for _, p := range parts {
			if _, seen := share[p.Refrigerant]; !seen {
				order = append(order, p.Refrigerant)
			}
			share[p.Refrigerant] += scale * p.MassFraction
		}
	}
	put(parts, 1-added)
	put(f.Composition(), added)
	var whole []Part
	for _, name := range order {
		if share[name] > 0 {
			whole = append(whole, Part{Refrigerant: name, MassFraction: share[name]})
		}
	}
	return whole, nil
}
