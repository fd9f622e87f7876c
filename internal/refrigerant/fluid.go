package refrigerant

import (
	"embed"
	"fmt"
	"maps"
	"slices"
	"strings"
	"sync"

	"rung/internal/quantity"
)

// Fluid is a refrigerant with its equation of state. It is safe for use by
// several goroutines.
type Fluid struct {
	name                        string
	oneFluid                    bool // a blend treated as one fluid, with its own bubble and dew line
	ideal                       ideal
	eq                          equation
	critT, critRho, critP       float64 // K, mol/m³, Pa
	minT, maxT, maxP            float64 // range of the equation, K and Pa
	satMinT, satMaxT            float64 // range of the saturation line, K
	satMinP, satMaxP            float64 // pressures at which both lines are within it, Pa
	fits                        map[string]*fit
	bubbleFit, dewFit           *fit    // Pa
	liquidFit, vapourFit        *fit    // mol/m³
	enthalpyShift, entropyShift float64 // added to those of the bare equation, J/kg and J/(kg·K)

	blend *blended // instead of the fits, for a blend by the mixing rules

	tabled bool // has tables
	table  func() *Table
}

//go:embed data/*.txt
var dataFiles embed.FS

// library holds every fluid with a file of its own, by its folded name.
var library = sync.OnceValue(func() map[string]*Fluid {
	entries, err := dataFiles.ReadDir("data")
	if err != nil {
		panic("refrigerant: " + err.Error())
	}
	all := map[string]*Fluid{}
	for _, e := range entries {
		text, err := dataFiles.ReadFile("data/" + e.Name())
		if err != nil {
			panic("refrigerant: " + err.Error())
		}
		f, err := parseFluid(e.Name(), string(text))
		if err != nil {
			panic("refrigerant: " + err.Error())
		}
		all[fold(f.name)] = f
	}
	return all
})

// UnknownError says that a refrigerant is not among those held.
type UnknownError struct {
	Name  string
	Known []string
}

func (e *UnknownError) Error() string {
	return fmt.Sprintf("refrigerant %q is not known; known: %s; or a composition by mass, such as R-32/125 (50/50)",
		e.Name, strings.Join(e.Known, ", "))
}

// Lookup returns the refrigerant of the given name, "R-410A", or of the given
// composition, "R-32/125 (50/50)", see ParseComposition. Dashes, blanks and the
// case of letters do not matter.
//
// R-410A, R-407C and R-404A have equations of their own and are treated as one
// fluid; Blend gives them by the mixing rules. An unknown name gives an
// *UnknownError; a composition may give the errors of Mix.
func Lookup(name string) (*Fluid, error) {
	if f, ok := library()[fold(name)]; ok {
		return f, nil
	}
	return Blend(name)
}

// Names returns the names of all refrigerants held, sorted.
func Names() []string {
	names := map[string]bool{}
	for _, f := range library() {
		names[f.name] = true
	}
	for _, b := range namedBlends() {
		names[b.name] = true
	}
	return slices.Sorted(maps.Keys(names))
}

func fold(name string) string {
	return strings.ToUpper(strings.NewReplacer("-", "", " ", "").Replace(name))
}

// Name returns the name as the trade writes it, "R-410A".
func (f *Fluid) Name() string { return f.name }

// Critical returns the critical temperature and pressure of the equation.
func (f *Fluid) Critical() (quantity.Temperature, quantity.Pressure) {
	return quantity.Temperature(f.critT), quantity.Pressure(f.critP)
}

// SaturationRange returns the temperatures between which the saturation line
// is answered.
func (f *Fluid) SaturationRange() (min, max quantity.Temperature) {
	return quantity.Temperature(f.satMinT), quantity.Temperature(f.satMaxT)
}

// finish sets what follows from all the rest.
func (f *Fluid) finish() error {
	f.table = sync.OnceValue(f.makeTable)
	var err error
	if f.satMinP, f.satMaxP, err = f.saturationPressures(); err != nil {
		return err
	}
	return f.setReference()
}

// referenceTemp is the temperature of the reference state in K.
const referenceTemp = 273.15

// setReference shifts enthalpy and entropy to the reference state of the
// International Institute of Refrigeration: 200 kJ/kg and 1 kJ/(kg·K) for
// liquid at the bubble point at 0 °C.
func (f *Fluid) setReference() error {
	const (
		T  = referenceTemp
		h0 = 200e3  // J/kg
		s0 = 1000.0 // J/(kg·K)
	)
	rho, err := f.bubbleDensity(T)
	if err != nil {
		return err
	}
	liquid := f.eq.at(T, rho)
	f.enthalpyShift = h0 - liquid.h
	f.entropyShift = s0 - liquid.s
	return nil
}

// pointAt returns the state at T in K and ρ in mol/m³, with the reference state.
func (f *Fluid) pointAt(T, rho float64) point {
	return f.shift(f.eq.at(T, rho))
}

// shift moves enthalpy and entropy to the reference state.
func (f *Fluid) shift(pt point) point {
	pt.h += f.enthalpyShift
	pt.s += f.entropyShift
	return pt
}
