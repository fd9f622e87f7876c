package refrigerant

import "math"

// Table answers the properties of a refrigerant in nanoseconds, for models
// that ask thousands of times. Pressures are absolute, all numbers SI: Pa, K,
// J/kg, J/(kg·K), kg/m³. Each function is continuous with continuous slopes,
// allocates nothing, and returns NaN outside its range; nothing is clamped.
//
// The single-phase functions count from the dome: a vapour state is given by
// its distance from the dew line at the same pressure, a liquid state by that
// from the bubble line, so that no cell straddles it and zero distance is
// exactly the saturated state of Sat.
//
// See the package comment for ranges and measured errors.
type Table struct {
	pMin, pMax float64 // Pa
	pScale     float64 // Pa; pressures are placed by p/(pScale − p)
	minT, maxT float64 // K, of the equation; no liquid is answered below, no vapour above

	// K; less than this is within minT and maxT at any pressure
	safeSuperheat, safeSubcooling float64

	satAxis axis
	sat     []float64 // per node: satColumns values, each with its slope

	tempMin, tempStep float64   // K, even grid of lineNodes
	lines             []float64 // per node: dew pressure, slope, bubble pressure, slope

	fineAxis axis // of pressure, for the surfaces
	vapH     depth
	vapS     depth
	vapT     depth
	liqH     depth
	liqT     depth

	superheatPH surface // (T − T_dew)/dh over dh, and so on: see tabulate.go
	volumePH    surface
	entropyPH   surface
	enthalpyPS  surface
	enthalpyPT  surface
	subcoolPH   surface
	densityPH   surface
	enthalpyLPT surface
}

// SatRow is the saturation state at a pressure.
type SatRow struct {
	TDew, TBub     float64 // K
	HLiq, HVap     float64 // J/kg
	RhoLiq, RhoVap float64 // kg/m³
	SVap           float64 // J/(kg·K)
}

// Columns of Table.sat, each two numbers wide.
const (
	colTDew = iota
	colTBub
	colHLiq
	colHVap
	colRhoLiq
	colRhoVap
	colSVap
	satColumns
)

var noRow = SatRow{math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN(), math.NaN()}

// PressureRange returns the lowest and the highest pressure answered, in Pa.
func (t *Table) PressureRange() (min, max float64) { return t.pMin, t.pMax }

// place puts p on the scale of the pressure axes.
func (t *Table) place(p float64) float64 { return p / (t.pScale - p) }

// covers reports whether p is within the range; false for NaN.
func (t *Table) covers(p float64) bool { return t.pMin <= p && p <= t.pMax }

// Sat returns the saturation state at the pressure p.
func (t *Table) Sat(p float64) SatRow {
	if !t.covers(p) {
		return noRow
	}
	at := t.satAxis.locate(t.place(p))
	w := at.weights()
	n := (*[4 * satColumns]float64)(t.sat[at.cell*2*satColumns:])
	return SatRow{
		TDew:   w.f0*n[0] + w.m0*n[1] + w.f1*n[14] + w.m1*n[15],
		TBub:   w.f0*n[2] + w.m0*n[3] + w.f1*n[16] + w.m1*n[17],
		HLiq:   w.f0*n[4] + w.m0*n[5] + w.f1*n[18] + w.m1*n[19],
		HVap:   w.f0*n[6] + w.m0*n[7] + w.f1*n[20] + w.m1*n[21],
		RhoLiq: w.f0*n[8] + w.m0*n[9] + w.f1*n[22] + w.m1*n[23],
		RhoVap: w.f0*n[10] + w.m0*n[11] + w.f1*n[24] + w.m1*n[25],
		SVap:   w.f0*n[12] + w.m0*n[13] + w.f1*n[26] + w.m1*n[27],
	}
}

// satColumn returns one column of the saturation row at the place w = p/(pScale − p).
func (t *Table) satColumn(at place, w hermite, column int) float64 {
	n := t.sat[at.cell*2*satColumns+2*column:][:2*satColumns+2]
	return w.f0*n[0] + w.m0*n[1] + w.f1*n[2*satColumns] + w.m1*n[2*satColumns+1]
}

// DewTemp returns the dew temperature in K at the pressure p.
func (t *Table) DewTemp(p float64) float64 { return t.satTemp(p, colTDew) }

// BubbleTemp returns the bubble temperature in K at the pressure p.
func (t *Table) BubbleTemp(p float64) float64 { return t.satTemp(p, colTBub) }

func (t *Table) satTemp(p float64, column int) float64 {
	if !t.covers(p) {
		return math.NaN()
	}
	at := t.satAxis.locate(t.place(p))
	return t.satColumn(at, at.weights(), column)
}

// DewPressure returns the dew pressure in Pa at the temperature T.
func (t *Table) DewPressure(T float64) float64 { return t.linePressure(T, 0) }

// BubblePressure returns the bubble pressure in Pa at the temperature T.
func (t *Table) BubblePressure(T float64) float64 { return t.linePressure(T, 2) }

func (t *Table) linePressure(T float64, column int) float64 {
	x := (T - t.tempMin) / t.tempStep
	if !(0 <= x && x <= lineNodes-1) {
		return math.NaN()
	}
	cell := min(int(x), lineNodes-2)
	w := place{t: x - float64(cell), h: t.tempStep}.weights()
	n := t.lines[4*cell+column:][:6]
	return w.f0*n[0] + w.m0*n[1] + w.f1*n[4] + w.m1*n[5]
}

// VapourPH returns temperature, density and entropy of the vapour at the
// pressure p whose enthalpy is dh above that of the dew point.
func (t *Table) VapourPH(p, dh float64) (T, rho, s float64) {
	if !(t.covers(p) && t.vapH.covers(dh)) {
		return math.NaN(), math.NaN(), math.NaN()
	}
	x := t.place(p)
	c := t.cell(x, &t.vapH, dh)
	at := t.satAxis.locate(x)
	w := at.weights()
	T = t.satColumn(at, w, colTDew) + dh*t.superheatPH.at(&c)
	if T > t.maxT {
		return math.NaN(), math.NaN(), math.NaN()
	}
	rho = t.satColumn(at, w, colRhoVap) / (1 + dh*t.volumePH.at(&c))
	s = t.satColumn(at, w, colSVap) + dh*t.entropyPH.at(&c)
	return T, rho, s
}

// VapourPS returns the enthalpy above that of the dew point of the vapour at
// the pressure p whose entropy is ds above that of the dew point. It does not
// look at the temperature: beyond the range of the equation VapourPH refuses
// what is answered here.
func (t *Table) VapourPS(p, ds float64) (dh float64) {
	if !(t.covers(p) && t.vapS.covers(ds)) {
		return math.NaN()
	}
	return ds * t.value(t.enthalpyPS, &t.vapS, p, ds)
}

// VapourPT returns the enthalpy above that of the dew point of the vapour at
// the pressure p with the given superheat above the dew temperature, in K.
func (t *Table) VapourPT(p, superheat float64) (dh float64) {
	if !(t.covers(p) && t.vapT.covers(superheat)) ||
		superheat > t.safeSuperheat && t.DewTemp(p)+superheat > t.maxT {
		return math.NaN()
	}
	return superheat * t.value(t.enthalpyPT, &t.vapT, p, superheat)
}

// LiquidPH returns temperature and density of the liquid at the pressure p
// whose enthalpy is dh below that of the bubble point.
func (t *Table) LiquidPH(p, dh float64) (T, rho float64) {
	if !(t.covers(p) && t.liqH.covers(dh)) {
		return math.NaN(), math.NaN()
	}
	x := t.place(p)
	c := t.cell(x, &t.liqH, dh)
	at := t.satAxis.locate(x)
	w := at.weights()
	T = t.satColumn(at, w, colTBub) - dh*t.subcoolPH.at(&c)
	if T < t.minT {
		return math.NaN(), math.NaN()
	}
	return T, t.satColumn(at, w, colRhoLiq) * (1 + dh*t.densityPH.at(&c))
}

// LiquidPT returns the enthalpy below that of the bubble point of the liquid
// at the pressure p with the given subcooling below the bubble temperature, in K.
func (t *Table) LiquidPT(p, subcooling float64) (dh float64) {
	if !(t.covers(p) && t.liqT.covers(subcooling)) ||
		subcooling > t.safeSubcooling && t.BubbleTemp(p)-subcooling < t.minT {
		return math.NaN()
	}
	return subcooling * t.value(t.enthalpyLPT, &t.liqT, p, subcooling)
}

// depth is the axis of the distance from the dome, y ≥ 0: an axis of 1 + y/unit,
// finest at the dome.
type depth struct {
	axis     axis
	unit     float64
	fineness float64 // 1/unit
	max      float64
}

func (d *depth) covers(y float64) bool { return 0 <= y && y <= d.max }

// cell is a position on a surface: offset of the node, and the weights.
type cell struct {
	node int // index of the node in the surface
	row  int // nodes to a pressure
	x, y hermite
}

func (t *Table) cell(x float64, d *depth, y float64) cell {
	i, j := t.fineAxis.locate(x), d.axis.locate(1+y*d.fineness)
	row := d.axis.n + 1
	return cell{node: i.cell*row + j.cell, row: row, x: i.weights(), y: j.weights()}
}

// value returns the value of one surface at the pressure p and the distance y
// from the dome, both within its range: the same as at of a cell, in one piece,
// because it is asked most.
func (t *Table) value(s surface, d *depth, p, y float64) float64 {
	i, j := t.fineAxis.locate(p/(t.pScale-p)), d.axis.locate(1+y*d.fineness)
	row := d.axis.n + 1
	node := 4 * (i.cell*row + j.cell)
	a := (*[8]float64)(s[node:])
	b := (*[8]float64)(s[node+4*row:])
	w := j.weights()
	f0 := w.f0*a[0] + w.m0*a[1] + w.f1*a[4] + w.m1*a[5]
	m0 := w.f0*a[2] + w.m0*a[3] + w.f1*a[6] + w.m1*a[7]
	f1 := w.f0*b[0] + w.m0*b[1] + w.f1*b[4] + w.m1*b[5]
	m1 := w.f0*b[2] + w.m0*b[3] + w.f1*b[6] + w.m1*b[7]
	x := i.weights()
	return x.f0*f0 + x.m0*m0 + x.f1*f1 + x.m1*m1
}

// surface is a bicubic spline over pressure and depth: per node the value, its
// slope along the depth, its slope along the pressure, and the mixed slope. A
// copy of the last row and column stands behind each end.
type surface []float64

func (s surface) at(c *cell) float64 {
	a := (*[8]float64)(s[4*c.node:])
	b := (*[8]float64)(s[4*(c.node+c.row):])
	f0 := c.y.f0*a[0] + c.y.m0*a[1] + c.y.f1*a[4] + c.y.m1*a[5]
	m0 := c.y.f0*a[2] + c.y.m0*a[3] + c.y.f1*a[6] + c.y.m1*a[7]
	f1 := c.y.f0*b[0] + c.y.m0*b[1] + c.y.f1*b[4] + c.y.m1*b[5]
	m1 := c.y.f0*b[2] + c.y.m0*b[3] + c.y.f1*b[6] + c.y.m1*b[7]
	return c.x.f0*f0 + c.x.m0*m0 + c.x.f1*f1 + c.x.m1*m1
}
