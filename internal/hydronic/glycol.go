package hydronic

import (
	"math"

	"rung/internal/quantity"
)

// Glycol is what water is mixed with against frost.
type Glycol string

// The two glycols of heating loops. Propylene glycol is the one for houses;
// ethylene glycol is poisonous.
const (
	Propylene Glycol = "propylene-glycol"
	Ethylene  Glycol = "ethylene-glycol"
)

// Solution is glycol in water.
type Solution struct {
	Glycol Glycol
	Mass   quantity.Ratio // share of glycol in the mass
}

const (
	maxShare   = 0.6    // of the mass; beyond it a solution freezes sooner again
	maxGlycolT = 373.15 // K
	shareStep  = 0.05   // of the freezing table
	shareSlack = 1e-9   // of the rounding of a percentage
)

// brine holds what is known of one glycol. Properties are
// a + bξ + (c + dξ)θ + eθ² with θ = 273.15/T and ξ the share of mass.
type brine struct {
	pure         float64     // kg/m³ of the pure glycol at 20 °C
	freezing     [13]float64 // °C at 0, 5, … 60 % of mass
	density      [5]float64  // kg/m³
	specificHeat [5]float64  // kJ/(kg·K)
	conductivity [5]float64  // W/(m·K)
	logViscosity [5]float64  // ln of Pa·s
}

// memory: freezing points from ASHRAE Fundamentals, ch. 31, tables 4 and 5; the
// polynomials from Conde, thermophysical properties of brines, 2011; pure
// densities from CRC tables. Nothing of it seen in print. Without glycol and up
// to 40 °C the polynomials give water to 0.3 % of density, 1 % of heat capacity, 5 %
// of viscosity and 2 % of conductivity (tested); hotter they stray.
var brines = map[Glycol]brine{
	Propylene: {
		pure:         1036,
		freezing:     [13]float64{0, -1.6, -3.3, -5.1, -7.1, -9.6, -12.7, -16.4, -21.1, -26.7, -33.5, -41.6, -51.1},
		density:      [5]float64{508.41109, -182.40820, 965.76507, 280.29104, -472.22510},
		specificHeat: [5]float64{4.47642, 0.60863, -0.71497, -1.93855, 0.47873},
		conductivity: [5]float64{1.18886, -1.49110, -0.69682, 1.13633, 0.06735},
		logViscosity: [5]float64{-1.02798, -10.03298, -19.93497, 14.65802, 14.62050},
	},
	Ethylene: {
		pure:         1113,
		freezing:     [13]float64{0, -1.4, -3.2, -5.4, -7.8, -10.7, -14.1, -17.9, -22.3, -27.5, -33.8, -41.1, -48.3},
		density:      [5]float64{658.49825, -54.81501, 664.71643, 232.72605, -322.61661},
		specificHeat: [5]float64{5.36449, 0.78863, -2.59001, -2.73187, 1.43759},
		conductivity: [5]float64{0.83818, -1.37620, -0.07629, 1.07720, -0.20174},
		logViscosity: [5]float64{-4.63024, -2.14817, -12.70106, 5.40536, 10.98990},
	},
}

// Uncertainty is how far the answers for a solution may be off: relative, but
// for the freezing point. Wider than the differences from the few independent
// values at hand (testdata/published/glycol.txt); inhibitors differ from make to
// make.
var Uncertainty = struct {
	Density, SpecificHeat, Viscosity, Conductivity quantity.Ratio
	FreezingPoint                                  quantity.TempDiff
}{Density: 0.015, SpecificHeat: 0.02, Viscosity: 0.15, Conductivity: 0.05, FreezingPoint: 3}

// MassShare returns the solution of g with the given share of the volume, as
// mixed at 20 °C, up to what makes 60 % of the mass.
func MassShare(g Glycol, volume quantity.Ratio) (Solution, error) {
	const (
		op    = "hydronic.MassShare"
		water = 998.2 // kg/m³ at 20 °C; published: IAPWS SR6-08, see testdata
	)
	b, err := brineOf(op, g)
	if err != nil {
		return Solution{}, err
	}
	most := maxShare * water / (maxShare*water + (1-maxShare)*b.pure)
	if err := quantity.CheckRange(op, "volume share", float64(volume), 0, most+shareSlack, "of the volume"); err != nil {
		return Solution{}, err
	}
	v := float64(volume)
	return Solution{Glycol: g, Mass: quantity.Ratio(min(maxShare, v*b.pure/(v*b.pure+(1-v)*water)))}, nil
}

// FreezingPoint returns where the first ice forms, for up to 60 % of the mass.
//
// memory: see brines; straight lines between its points
func (s Solution) FreezingPoint() (quantity.Temperature, error) {
	const zeroC = 273.15 // K
	b, err := s.brine("hydronic.FreezingPoint")
	if err != nil {
		return 0, err
	}
	x := float64(s.Mass) / shareStep
	i := min(int(x), len(b.freezing)-2)
	f := x - float64(i)
	return quantity.Temperature(zeroC + b.freezing[i]*(1-f) + b.freezing[i+1]*f), nil
}

// At returns the liquid at t, from its freezing point to 100 °C. Pressure plays
// no part. See Uncertainty.
//
// The polynomials serve as a ratio of solution to water, applied to true water:
// no glycol is then water, and a bend of theirs at high temperature drops out.
// Below 0 °C the ratio of true water to theirs stays as it is there.
//
// memory: see brines
func (s Solution) At(t quantity.Temperature) (Liquid, error) {
	const (
		op       = "hydronic.Solution.At"
		pressure = 200e3 // Pa, so that water is liquid up to maxGlycolT
	)
	b, err := s.brine(op)
	if err != nil {
		return Liquid{}, err
	}
	ice, err := s.FreezingPoint()
	if err != nil {
		return Liquid{}, err
	}
	if err := quantity.CheckRange(op, "temperature", t.Kelvin(), ice.Kelvin(), maxGlycolT, "K"); err != nil {
		return Liquid{}, err
	}
	warm := max(t, minTemp)
	water, err := WaterAt(warm, pressure)
	if err != nil {
		return Liquid{}, err
	}
	mixed, none := b.at(float64(s.Mass), t.Kelvin()), b.at(0, warm.Kelvin())
	return Liquid{
		Density:      water.Density * mixed.Density / none.Density,
		SpecificHeat: water.SpecificHeat * mixed.SpecificHeat / none.SpecificHeat,
		Viscosity:    water.Viscosity * mixed.Viscosity / none.Viscosity,
		Conductivity: water.Conductivity * mixed.Conductivity / none.Conductivity,
	}, nil
}

// at returns what the polynomials alone give at the share x of mass and T in K.
func (b brine) at(x, T float64) Liquid {
	const (
		zeroC = 273.15 // K
		kilo  = 1e3    // J per kJ
	)
	th := zeroC / T
	of := func(c [5]float64) float64 { return c[0] + c[1]*x + (c[2]+c[3]*x)*th + c[4]*th*th }
	return Liquid{
		Density:      quantity.Density(of(b.density)),
		SpecificHeat: quantity.SpecificHeat(kilo * of(b.specificHeat)),
		Viscosity:    quantity.Viscosity(math.Exp(of(b.logViscosity))),
		Conductivity: quantity.Conductivity(of(b.conductivity)),
	}
}

func (s Solution) brine(op string) (brine, error) {
	b, err := brineOf(op, s.Glycol)
	if err != nil {
		return brine{}, err
	}
	return b, quantity.CheckRange(op, "mass share", float64(s.Mass), 0, maxShare, "of the mass")
}

// UnknownError says that a word names no glycol.
type UnknownError struct{ Op, Glycol string }

func (e *UnknownError) Error() string {
	return e.Op + ": " + e.Glycol + " is no known glycol, which are " + string(Propylene) + " and " + string(Ethylene)
}

func brineOf(op string, g Glycol) (brine, error) {
	b, ok := brines[g]
	if !ok {
		return brine{}, &UnknownError{Op: op, Glycol: string(g)}
	}
	return b, nil
}
