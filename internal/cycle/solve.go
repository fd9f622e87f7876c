package cycle

import "math"

// Accuracy of the solution, in the scaled residuals of loop.pass.
const (
	goal     = 1e-6 // what Newton's method stops at
	accepted = 1e-4 // largest residual of a returned steady state
)

// stepLimit bounds one Newton step in each unknown.
var stepLimit = [3]float64{0.25, 0.2, 25}

// Solve returns the steady state of the running machine. start, if not nil,
// is a State of the same machine under like conditions; it is used if it is
// nearer than the built-in guess, saves up to half the passes, and never changes the answer beyond the residual, except where
// two states are possible (see the package comment).
//
// Limits are results, and so is a machine without any balance: see Outcome.
// The error is a *quantity.RangeError for input outside the model's range, and
// ErrCoolingOnly for heating with a machine that is no heat pump.
func (m *Machine) Solve(c Condition, f Fault, start *State) (State, error) {
	return m.run(&c, &f, start, math.NaN())
}

// SolveSubcooling answers "what should it read": the state at which the
// machine, whatever its charge, shows the target subcooling of its plate.
// Fault.Charge is not used.
func (m *Machine) SolveSubcooling(c Condition, f Fault, start *State) (State, error) {
	target := m.rating.TargetSubcooling
	if c.Mode == Heating {
		target = m.rating.HeatingSubcooling
	}
	return m.run(&c, &f, start, float64(target))
}

// run solves for the charge of f or, if it is a number, for the subcooling.
func (m *Machine) run(c *Condition, f *Fault, start *State, subcooling float64) (State, error) {
	if err := m.check(c, f); err != nil {
		return State{}, err
	}
	if f.CompressorLeak >= notPumping {
		return m.notPumping(c, f)
	}
	l := m.newLoop(c, f)
	l.subcooling = subcooling
	l.leak = math.Min(l.leak, maxLeak)
	s := l.solve(start)
	if s.Outcome == LowPressureLimit && math.IsNaN(subcooling) && m.onlyGas(c, f) {
		var err error
		if s, err = m.thinGas(c, f); err != nil {
			return State{}, err
		}
	}
	if f.CompressorLeak > maxLeak {
		dead, err := m.notPumping(c, f)
		if err != nil {
			return State{}, err
		}
		s = s.towards(&dead, (float64(f.CompressorLeak)-maxLeak)/(1-maxLeak))
	}
	s.Doubt = m.doubts(c, f, &s)
	return s, nil
}

func (l *loop) solve(start *State) State {
	z, ok := l.starts(start)
	if ok {
		return l.state(l.outcome(), z)
	}
	if out, z := l.limit(z); out != 0 {
		return l.state(out, z)
	}
	out, at := l.bracket(z)
	if out != 0 {
		return l.state(out, at)
	}
	if z, ok = l.newton(at); !ok {
		z, ok = l.sweep()
	}
	if ok || l.residual(&z) < accepted {
		l.residual(&z)
		return l.state(l.outcome(), z)
	}
	if at[1] > l.hi[1]-nearLimit {
		return l.state(HighPressureLimit, at)
	}
	if z, ok = l.floods(at); ok {
		return l.state(LiquidLimit, z)
	}
	return l.state(NoBalance, at)
}

// nearLimit is how far below the upper limit, in ln p, a machine without a
// balance counts as being at it.
const nearLimit = 0.03

// strongRestriction is the liquid-line restriction, Pa at rated flow, from
// which three states can stand side by side: less subcooling, more flash gas,
// more drop, and so on. The one reached from health is wanted.
const strongRestriction = 900e3

// starts tries Newton's method from the warm start, the rating point, and
// canned starts: starved, flooded, hot outdoors.
func (l *loop) starts(start *State) ([3]float64, bool) {
	near := l.clip(l.guess())
	if start != nil && start.z[0] != 0 {
		z := l.clip(start.z)
		if l.residual(&z) < l.residual(&near) {
			if z, ok := l.newton(z); ok {
				return z, true
			}
		}
	}
	if l.restriction > strongRestriction {
		if z, ok := l.walk(near); ok {
			return z, true
		}
	}
	for k, d := range [...][3]float64{{}, {}, {-0.45, -0.1, 15}, {0.15, -0.03, -20}, {-0.05, 0.12, 0}} {
		z := [3]float64{near[0] + d[0], near[1] + d[1], near[2] + d[2]}
		if k == 1 {
			if l.cold.flow > stillAir*l.m.capIn0*ratedIndoorDensity {
				continue
			}
			z = [3]float64{near[1] - 1.9, near[1] - 0.15, -85}
		}
		z, ok := l.newton(l.clip(z))
		if ok {
			return z, true
		}
		if out, z := l.limit(z); out != 0 {
			return z, false
		}
	}
	return near, false
}

// stillAir is the airflow, over the rated one, below which a coil that takes heat
// may flood.
const stillAir = 0.3

// guess returns a start near the answer: the rating point moved by what air
// temperatures, air flows, charge and leak usually do. Rounded from the model's
// own tables; it only saves passes.
func (l *loop) guess() [3]float64 {
	if l.heating {
		return l.guessHeating()
	}
	m := l.m
	vOut, vIn := l.hot.cap/(m.capOut0*ratedOutdoorDensity*cpDryAir), l.cold.flow/(m.capIn0*ratedIndoorDensity)
	off := l.charge/m.charge0 - 1
	Tc := l.Ta + m.overAmbient0/root34(vOut)*(1-0.7*l.leak) + 10*off
	Te := m.Te0 - 4.6*(1/vIn-1) + 0.16e-3*(l.cold.h-ratedEnthalpy) + 9*l.leak + math.Min(0.12*(l.Ta-ratedOutdoor), 0)
	return [3]float64{
		math.Log(l.t.DewPressure(math.Min(math.Max(Te, 230), 300))),
		math.Log(l.t.DewPressure(math.Min(math.Max(Tc, 245), 338))),
		m.z0[2],
	}
}

// ratedEnthalpy is that of the return air at the rating point, J/kg.
const ratedEnthalpy = cpDryAir*(ratedReturn-zeroCelsius) + ratedHumidity*(steamEnthalpy+cpSteam*(ratedReturn-zeroCelsius))

// walk raises the restriction from nothing to its full size, each state
// starting the next, and so stays on the branch reached from health.
func (l *loop) walk(z [3]float64) ([3]float64, bool) {
	const steps = 4
	full := l.restriction
	defer func() { l.restriction = full }()
	for i := range steps {
		l.restriction = full * float64(i+1) / steps
		var ok bool
		if z, ok = l.newton(l.clip(z)); !ok {
			return z, false
		}
	}
	return z, true
}

// sweep is the last resort, for the folds where bracketing jumps from branch
// to branch: Newton's method from a coarse grid.
func (l *loop) sweep() ([3]float64, bool) {
	var z [3]float64
	for i := range 5 {
		for j := range 5 {
			for k := range 4 {
				z = [3]float64{
					l.lo[0] + (l.hi[0]-l.lo[0])*(0.95-0.2*float64(i)),
					l.lo[1] + (l.hi[1]-l.lo[1])*(0.9-0.18*float64(j)),
					40 - 25*float64(k),
				}
				if at, ok := l.newton(z); ok {
					return at, true
				}
			}
		}
	}
	return z, false
}

// clip moves z inside its bounds.
func (l *loop) clip(z [3]float64) [3]float64 {
	for i := range z {
		z[i] = math.Min(math.Max(z[i], l.lo[i]), l.hi[i])
	}
	return z
}

// norm returns the root of the sum of squares of the residuals, which every
// Newton step lowers if short enough; NaN counts as infinite.
func norm(f *[3]float64) float64 {
	n := math.Sqrt(f[0]*f[0] + f[1]*f[1] + f[2]*f[2])
	if math.IsNaN(n) {
		return math.Inf(1)
	}
	return n
}

// residual passes once through the loop at z.
func (l *loop) residual(z *[3]float64) float64 {
	f := l.pass(z)
	return norm(&f)
}

// newton runs Newton's method with a finite-difference Jacobian, updated after
// Broyden and renewed when a step gains less than half. It ends with the loop
// standing at the returned z and says whether the goal was reached.
//
// published: Broyden 1965, the rank-one update, as in numerical-analysis texts.
func (l *loop) newton(z [3]float64) ([3]float64, bool) {
	const maxSteps = 40
	f := l.pass(&z)
	n := norm(&f)
	var J [3][3]float64
	fresh := false
	for range maxSteps {
		if n < goal {
			return z, true
		}
		if !fresh {
			J = l.jacobian(z, &f)
		}
		d, ok := solve3(&J, &f)
		if !ok {
			return z, false
		}
		limitStep(&d)
		zn, fn, nn := l.search(z, d, n)
		if nn >= n {
			if !fresh {
				return z, n < accepted && l.residual(&z) < accepted
			}
			fresh = false
			continue
		}
		fresh = nn < 0.5*n
		if fresh {
			broyden(&J, &z, &zn, &f, &fn)
		}
		z, f, n = zn, fn, nn
	}
	return z, false
}

// search shortens the step until the residual falls.
func (l *loop) search(z, d [3]float64, n float64) ([3]float64, [3]float64, float64) {
	const tries, shrink = 5, 0.4
	a := 1.0
	var zn, fn [3]float64
	nn := math.Inf(1)
	for range tries {
		zn = l.clip([3]float64{z[0] + a*d[0], z[1] + a*d[1], z[2] + a*d[2]})
		fn = l.pass(&zn)
		if nn = norm(&fn); nn < n {
			break
		}
		a *= shrink
	}
	return zn, fn, nn
}

// limitStep shortens d as a whole until every part keeps its limit.
func limitStep(d *[3]float64) {
	k := 1.0
	for i := range d {
		k = math.Max(k, math.Abs(d[i])/stepLimit[i])
	}
	for i := range d {
		d[i] /= k
	}
}

// jacobian returns df/dz by forward differences, away from the upper bounds.
func (l *loop) jacobian(z [3]float64, f *[3]float64) [3][3]float64 {
	var J [3][3]float64
	for k := range z {
		zk, h := z, difference[k]
		if zk[k]+h > l.hi[k] {
			h = -h
		}
		zk[k] += h
		fk := l.pass(&zk)
		for i := range fk {
			J[i][k] = (fk[i] - f[i]) / h
		}
	}
	return J
}

// broyden adds the rank-one update of the step from z to zn to J.
func broyden(J *[3][3]float64, z, zn, f, fn *[3]float64) {
	var d [3]float64
	dd := 0.0
	for i := range d {
		d[i] = zn[i] - z[i]
		dd += weights[i] * d[i] * d[i]
	}
	if dd == 0 {
		return
	}
	for i := range f {
		r := fn[i] - f[i]
		for k := range d {
			r -= J[i][k] * d[k]
		}
		for k := range d {
			J[i][k] += r * weights[k] * d[k] / dd
		}
	}
}

// difference is the step of a forward difference in each unknown.
var difference = [3]float64{2e-6, 2e-6, 2e-4}

// weights weigh the enthalpy like the logarithms of pressure.
var weights = [3]float64{1, 1, 1e-4}

// solve3 returns d with J·d = -f, by Cramer's rule.
func solve3(J *[3][3]float64, f *[3]float64) ([3]float64, bool) {
	c00 := J[1][1]*J[2][2] - J[1][2]*J[2][1]
	c01 := J[1][2]*J[2][0] - J[1][0]*J[2][2]
	c02 := J[1][0]*J[2][1] - J[1][1]*J[2][0]
	det := J[0][0]*c00 + J[0][1]*c01 + J[0][2]*c02
	if det == 0 || math.IsNaN(det) {
		return [3]float64{}, false
	}
	c10 := J[0][2]*J[2][1] - J[0][1]*J[2][2]
	c11 := J[0][0]*J[2][2] - J[0][2]*J[2][0]
	c12 := J[0][1]*J[2][0] - J[0][0]*J[2][1]
	c20 := J[0][1]*J[1][2] - J[0][2]*J[1][1]
	c21 := J[0][2]*J[1][0] - J[0][0]*J[1][2]
	c22 := J[0][0]*J[1][1] - J[0][1]*J[1][0]
	return [3]float64{
		-(c00*f[0] + c10*f[1] + c20*f[2]) / det,
		-(c01*f[0] + c11*f[1] + c21*f[2]) / det,
		-(c02*f[0] + c12*f[1] + c22*f[2]) / det,
	}, true
}
