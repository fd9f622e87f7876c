package refrigerant

import (
	"math"

	"rung/internal/num"
)

// grid says where the tables of a fluid have their nodes. Cells to a doubling
// are 2^split: of the saturation line, and of the surfaces along pressure and
// along depth. The splits and doublings are whole numbers.
type grid struct {
	satSplit, fineSplit, deepSplit float64
	doublings                      float64 // of 1 + y/unit, the depth axes
	vapH, vapS, vapT, liqH, liqT   float64 // unit of each depth axis: J/kg, J/(kg·K), K, J/kg, K
}

// Range of the saturation tables. The numbers are our choice, as are those of
// newGrid: with them the errors and ranges of the package comment come out.
const (
	tableFrom          = 223.15 // K
	tableBelowCritical = 4.0    // K, of the dew temperature at the highest pressure
)

// newGrid returns the grid of f: its units are about the same distances from
// the dome on every axis, 2 K of superheat and 1.25 K of subcooling.
func (f *Fluid) newGrid() (grid, error) {
	const T = 273.15 // K
	s, err := f.saturationAt(T)
	if err != nil {
		return grid{}, err
	}
	liquid, vapour := f.ends(s)
	g := grid{satSplit: 4, fineSplit: 2, deepSplit: 2, doublings: 6, vapT: 2, liqT: 1.25}
	g.vapH = 2.6 * vapour.cp // J/kg; less than 2 K there, as the heat capacity grows with pressure
	g.vapS = g.vapH / 400    // J/(kg·K), by a typical temperature
	g.liqH = 1.3 * liquid.cp
	return g, nil
}

// lineNodes is the number of nodes of the pressures over temperature, which
// are even in temperature: about 1 K.
const lineNodes = 128

// nodes holds the values of the parent equation at every node of the tables.
type nodes struct {
	grid              grid
	pScale            float64 // Pa
	wMin, wMax        float64 // ends of the pressure axes, p/(pScale − p)
	tempMin, tempStep float64 // K
	minT, maxT        float64 // K

	sat      [][satColumns]float64 // per node of the saturation axis
	lines    [][2]float64          // dew and bubble pressure
	surfaces [surfaces][]float64   // per pressure, then per depth
}

// Order of nodes.surfaces.
const (
	surfSuperheatPH = iota
	surfVolumePH
	surfEntropyPH
	surfEnthalpyPS
	surfEnthalpyPT
	surfSubcoolPH
	surfDensityPH
	surfEnthalpyLPT
	surfaces
)

// axes returns the saturation axis, and the pressure axis of the surfaces.
// Both begin and end at the same pressures.
func (n *nodes) axes() (sat, fine axis) {
	fine = newAxis(n.wMin, n.wMax, uint(n.grid.fineSplit))
	return newAxis(fine.node(0), fine.node(fine.n-1), uint(n.grid.satSplit)), fine
}

// depth returns the depth axis of g with the given unit.
func (g grid) depth(unit float64) depth {
	top := math.Exp2(g.doublings)
	return depth{axis: newAxis(1, top, uint(g.deepSplit)), unit: unit, fineness: 1 / unit, max: (top - 1) * unit}
}

func (n *nodes) pressure(w float64) float64 { return n.pScale * w / (1 + w) }

// tabulate evaluates the equation of f at every node.
func (f *Fluid) tabulate() (*nodes, error) {
	g, err := f.newGrid()
	if err != nil {
		return nil, err
	}
	n := &nodes{grid: g, pScale: f.critP, minT: f.minT, maxT: f.maxT}
	low, err := f.saturationAt(tableFrom)
	if err != nil {
		return nil, err
	}
	high, err := f.saturationAt(f.critT - tableBelowCritical)
	if err != nil {
		return nil, err
	}
	n.wMin, n.wMax = low.pDew/(n.pScale-low.pDew), high.pDew/(n.pScale-high.pDew)
	satAxis, fineAxis := n.axes()
	for i := range satAxis.n {
		row, err := f.satNode(n.pressure(satAxis.node(i)))
		if err != nil {
			return nil, err
		}
		n.sat = append(n.sat, row)
	}
	if err := f.tabulateLines(n); err != nil {
		return nil, err
	}
	for i := range fineAxis.n {
		if err := f.tabulateSurfaces(n, n.pressure(fineAxis.node(i))); err != nil {
			return nil, err
		}
	}
	return n, nil
}

func (f *Fluid) satNode(p float64) ([satColumns]float64, error) {
	s, err := f.saturationOf(p)
	if err != nil {
		return [satColumns]float64{}, err
	}
	l, v := f.pointAt(s.TBub, s.rhoLiq), f.pointAt(s.TDew, s.rhoVap)
	return [satColumns]float64{
		colTDew: s.TDew, colTBub: s.TBub, colHLiq: l.h, colHVap: v.h,
		colRhoLiq: l.rho, colRhoVap: v.rho, colSVap: v.s,
	}, nil
}

func (f *Fluid) tabulateLines(n *nodes) error {
	const beyond = 0.5 // K, so that the inverse of DewTemp at the last pressure is inside
	lowest, highest := n.sat[0][colTBub]-beyond, n.sat[len(n.sat)-1][colTDew]+beyond
	n.tempMin, n.tempStep = lowest, (highest-lowest)/(lineNodes-1)
	for i := range lineNodes {
		s, err := f.saturationAt(n.tempMin + float64(i)*n.tempStep)
		if err != nil {
			return err
		}
		n.lines = append(n.lines, [2]float64{s.pDew, s.pBub})
	}
	return nil
}

// tabulateSurfaces appends the nodes at the pressure p in Pa to every surface.
func (f *Fluid) tabulateSurfaces(n *nodes, p float64) error {
	s, err := f.saturationOf(p)
	if err != nil {
		return err
	}
	g := n.grid
	dew, bub := f.pointAt(s.TDew, s.rhoVap), f.pointAt(s.TBub, s.rhoLiq)
	for _, k := range []struct {
		surface int
		unit    float64
		from    point
		side    float64 // +1 above the dew line, −1 below the bubble line
		by      coordinate
		ratio   func(a point, y float64) float64
	}{
		{surfSuperheatPH, g.vapH, dew, 1, byEnthalpy, func(a point, y float64) float64 { return (a.T - dew.T) / y }},
		{surfVolumePH, g.vapH, dew, 1, byEnthalpy, func(a point, y float64) float64 { return (dew.rho/a.rho - 1) / y }},
		{surfEntropyPH, g.vapH, dew, 1, byEnthalpy, func(a point, y float64) float64 { return (a.s - dew.s) / y }},
		{surfEnthalpyPS, g.vapS, dew, 1, byEntropy, func(a point, y float64) float64 { return (a.h - dew.h) / y }},
		{surfEnthalpyPT, g.vapT, dew, 1, byTemp, func(a point, y float64) float64 { return (a.h - dew.h) / y }},
		{surfSubcoolPH, g.liqH, bub, -1, byEnthalpy, func(a point, y float64) float64 { return (bub.T - a.T) / y }},
		{surfDensityPH, g.liqH, bub, -1, byEnthalpy, func(a point, y float64) float64 { return (a.rho/bub.rho - 1) / y }},
		{surfEnthalpyLPT, g.liqT, bub, -1, byTemp, func(a point, y float64) float64 { return (bub.h - a.h) / y }},
	} {
		d := g.depth(k.unit)
		for j := range d.axis.n {
			v, err := limitRatio((d.axis.node(j)-1)*k.unit, k.unit, func(y float64) (float64, error) {
				a, err := f.offDome(p, k.from, k.by, k.by.of(k.from)+k.side*y)
				return k.ratio(a, y), err
			})
			if err != nil {
				return err
			}
			n.surfaces[k.surface] = append(n.surfaces[k.surface], v)
		}
	}
	return nil
}

// limitRatio returns ratio(y), or at y = 0 its limit, from two small distances.
func limitRatio(y, unit float64, ratio func(y float64) (float64, error)) (float64, error) {
	if y > 0 {
		return ratio(y)
	}
	small := 1e-3 * unit
	a, err := ratio(small)
	if err != nil {
		return 0, err
	}
	b, err := ratio(2 * small)
	return 2*a - b, err
}

// coordinate is the property by which a state is sought along an isobar.
type coordinate int

const (
	byTemp coordinate = iota
	byEnthalpy
	byEntropy
)

// of returns the coordinate of a.
func (c coordinate) of(a point) float64 {
	switch c {
	case byEnthalpy:
		return a.h
	case byEntropy:
		return a.s
	}
	return a.T
}

// step returns by how many K a is short of the value want of the coordinate, to
// first order: of the enthalpy over T, and of the entropy over ln T, in both of
// which the heat capacity is the slope.
func (c coordinate) step(a point, want float64) float64 {
	switch c {
	case byEnthalpy:
		return (want - a.h) / a.cp
	case byEntropy:
		return a.T * math.Expm1((want-a.s)/a.cp)
	}
	return want - a.T
}

// offDome returns the single-phase state at the pressure p in Pa whose
// coordinate has the value want, on the side of the saturated state from. The
// range of the equation is not checked.
//
// Newton's method on temperature approaches from the dome without passing the
// answer, because the heat capacity falls away from the dome on both sides.
func (f *Fluid) offDome(p float64, from point, by coordinate, want float64) (point, error) {
	const (
		maxIter = 60
		noise   = 1e-6 // K; below it a step that does not shrink is rounding
	)
	b := liquidBranch
	if from.rho < f.critRho*f.eq.molarMass {
		b = vapourBranch
	}
	a, last := from, math.Inf(1)
	for range maxIter {
		step := by.step(a, want)
		if math.Abs(step) < noise && math.Abs(step) >= last {
			return a, nil
		}
		last = math.Abs(step)
		T := a.T + step
		if T >= f.critT {
			b = fluidBranch
		}
		rho, err := f.density(T, p, b)
		if err != nil {
			return point{}, err
		}
		a = f.pointAt(T, rho)
	}
	return point{}, &num.ConvergenceError{Op: "refrigerant.offDome", Iterations: maxIter, Lo: from.T, Hi: a.T}
}
