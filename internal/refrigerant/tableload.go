package refrigerant

import "math"

// Table returns the fast tables of f, unpacked at the first call; nil for a
// blend by composition, which has none.
func (f *Fluid) Table() *Table { return f.table() }

func (f *Fluid) makeTable() *Table {
	if !f.tabled {
		return nil
	}
	content, err := tableFiles.ReadFile(tableFile(f.name))
	if err != nil {
		return nil
	}
	n, err := decodeNodes(content)
	if err != nil {
		panic("refrigerant: table of " + f.name + ": " + err.Error())
	}
	return newTable(n)
}

// newTable lays splines through the nodes.
func newTable(n *nodes) *Table {
	satAxis, fineAxis := n.axes()
	g := n.grid
	t := &Table{
		pScale: n.pScale, minT: n.minT, maxT: n.maxT,
		satAxis: satAxis, fineAxis: fineAxis,
		tempMin: n.tempMin, tempStep: n.tempStep,
		vapH: g.depth(g.vapH), vapS: g.depth(g.vapS), vapT: g.depth(g.vapT),
		liqH: g.depth(g.liqH), liqT: g.depth(g.liqT),
		sat: satSpline(n, satAxis), lines: lineSpline(n),
	}
	t.pMin, t.pMax = t.pressureEnds()
	t.safeSuperheat, t.safeSubcooling = t.maxT-t.DewTemp(t.pMax), t.BubbleTemp(t.pMin)-t.minT
	for _, k := range []struct {
		into  *surface
		order int
		depth *depth
	}{
		{&t.superheatPH, surfSuperheatPH, &t.vapH},
		{&t.volumePH, surfVolumePH, &t.vapH},
		{&t.entropyPH, surfEntropyPH, &t.vapH},
		{&t.enthalpyPS, surfEnthalpyPS, &t.vapS},
		{&t.enthalpyPT, surfEnthalpyPT, &t.vapT},
		{&t.subcoolPH, surfSubcoolPH, &t.liqH},
		{&t.densityPH, surfDensityPH, &t.liqH},
		{&t.enthalpyLPT, surfEnthalpyLPT, &t.liqT},
	} {
		*k.into = newSurface(fineAxis, k.depth.axis, n.surfaces[k.order])
	}
	return t
}

// pressureEnds returns the pressures of the first and the last node, moved
// inward until rounding cannot place them outside the axis.
func (t *Table) pressureEnds() (lo, hi float64) {
	first, last := t.satAxis.node(0), t.satAxis.node(t.satAxis.n-1)
	lo, hi = t.pScale*first/(1+first), t.pScale*last/(1+last)
	for t.place(lo) < first {
		lo = math.Nextafter(lo, hi)
	}
	for t.place(hi) > last {
		hi = math.Nextafter(hi, lo)
	}
	return lo, hi
}

// knots returns the nodes of an axis.
func (a *axis) knots() []float64 {
	x := make([]float64, a.n)
	for i := range x {
		x[i] = a.node(i)
	}
	return x
}

func satSpline(n *nodes, a axis) []float64 {
	x := a.knots()
	out := make([]float64, 2*satColumns*(a.n+1))
	column := make([]float64, a.n)
	for k := range satColumns {
		for i := range column {
			column[i] = n.sat[i][k]
		}
		slopes := splineSlopes(x, column)
		for i := range column {
			out[2*(i*satColumns+k)], out[2*(i*satColumns+k)+1] = column[i], slopes[i]
		}
	}
	width := 2 * satColumns
	copy(out[width*a.n:], out[width*(a.n-1):width*a.n])
	return out
}

func lineSpline(n *nodes) []float64 {
	x, column := make([]float64, lineNodes), make([]float64, lineNodes)
	out := make([]float64, 4*lineNodes)
	for i := range x {
		x[i] = float64(i) * n.tempStep
	}
	for k := range 2 {
		for i := range column {
			column[i] = n.lines[i][k]
		}
		for i, m := range splineSlopes(x, column) {
			out[4*i+2*k], out[4*i+2*k+1] = column[i], m
		}
	}
	return out
}

// newSurface lays a bicubic spline through values, given per node of x and
// within it per node of y.
func newSurface(x, y axis, values []float64) surface {
	nx, ny := x.n, y.n
	xs, ys := x.knots(), y.knots()
	alongY := make([]float64, 0, nx*ny)
	for i := range nx {
		alongY = append(alongY, splineSlopes(ys, values[i*ny:(i+1)*ny])...)
	}
	s := make(surface, 4*(nx+1)*(ny+1))
	f, m := make([]float64, nx), make([]float64, nx)
	for j := range ny {
		for i := range nx {
			f[i], m[i] = values[i*ny+j], alongY[i*ny+j]
		}
		fx, mx := splineSlopes(xs, f), splineSlopes(xs, m)
		for i := range nx {
			copy(s[4*(i*(ny+1)+j):], []float64{f[i], m[i], fx[i], mx[i]})
		}
	}
	for i := range nx { // copies behind the ends
		row := s[4*i*(ny+1):][:4*(ny+1)]
		copy(row[4*ny:], row[4*(ny-1):4*ny])
	}
	copy(s[4*nx*(ny+1):], s[4*(nx-1)*(ny+1):4*nx*(ny+1)])
	return s
}
