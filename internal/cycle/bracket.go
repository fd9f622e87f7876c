package cycle

import "math"

// bracket finds the state by nested bracketing when Newton's method does not,
// or says at which limit the machine ends. It relies on monotone physics:
//
//   - more enthalpy at the compressor means less flow and so a drier coil
//     outlet relative to it: the first residual falls with w;
//   - higher suction pressure means more pumped and less metered flow: the
//     second falls with p_evap;
//   - higher head means more liquid stored: the third rises with p_sat.
//
// Heads are balanced by Newton's method while that works. Where it leaves no state
// behind, the coil jumps between dry and flooded and Newton's method may stay on
// the branch it came along; then all is bracketed, from the inside out.
// The outcome is 0 when a state was bracketed.
func (l *loop) bracket(z [3]float64) (Outcome, [3]float64) {
	lo, hi := l.lo[1], l.hi[1]
	if hi <= lo {
		return l.settleAt(hi, HighPressureLimit, z)
	}
	f := l.atHead(hi, &z)
	if f < 0 {
		return HighPressureLimit, z
	}
	f = l.atHead(lo, &z)
	if f > 0 {
		return LowPressureLimit, z
	}
	for range 2 {
		at, ok := l.nearby(lo, hi, z)
		if ok {
			return 0, at
		}
		if at, ok = l.brims(at); ok && l.folded {
			return LiquidLimit, at
		}
		l.folded = true
	}
	l.illinois(lo, hi, 1e-8, func(u float64) float64 { return l.atHead(u, &z) })
	if z[0] <= l.lo[0]+1e-6 {
		return LowPressureLimit, z
	}
	if z[2] <= l.lo[2]+1e-6 {
		return LiquidLimit, z
	}
	return 0, z
}

// nearby brackets the head roughly and takes the rest by Newton's method, if
// that ends at nearly the same head: two fifths of the work. Where the coil jumps
// between dry and flooded it finds balanced states that finer bracketing steps over.
func (l *loop) nearby(lo, hi float64, z [3]float64) ([3]float64, bool) {
	const rough, near = 1e-3, 0.02 // ln p
	const coarse = 1e4             // of the inner tolerances
	l.fine = coarse
	defer func() { l.fine = 1 }()
	l.illinois(lo, hi, rough, func(u float64) float64 { return l.atHead(u, &z) })
	at, ok := l.newton(z)
	return at, ok && math.Abs(at[1]-z[1]) < near
}

// settleAt returns the state at the head u without any balance of charge.
func (l *loop) settleAt(u float64, out Outcome, z [3]float64) (Outcome, [3]float64) {
	l.atHead(u, &z)
	return out, z
}

// floods reports whether the machine just above the head of z returns so much
// liquid that no balance is left: the charge then jumps from too little to too
// much between a dry and a flooded coil.
func (l *loop) floods(z [3]float64) ([3]float64, bool) {
	for _, rise := range [...]float64{0, 1e-4, 1e-2} {
		if l.atHead(math.Min(z[1]+rise, l.hi[1]), &z); z[2] <= l.lo[2]+1e-6 {
			return z, true
		}
	}
	return z, false
}

// atHead balances flows and enthalpies at the head u, stores z and returns the
// residual of the charge: by Newton's method from z, and where that fails by
// nested bracketing, which takes some forty times as long.
func (l *loop) atHead(u float64, z *[3]float64) float64 {
	z[1] = u
	if !l.folded {
		if at, f, ok := l.held(*z, 1); ok {
			*z = at
			return f
		}
	}
	if l.atSuction(l.lo[0], z) > 0 {
		l.illinois(l.lo[0], l.top(u), l.fine*1e-9, func(s float64) float64 { return l.atSuction(s, z) })
	}
	f := l.pass(z)
	return f[2]
}

// top returns how high suction may go at the head u: with foreign gas behind it a
// wide-open valve can hold the coil above the refrigerant's own pressure in the
// condenser, never above the head.
func (l *loop) top(u float64) float64 { return math.Min(l.hi[0], math.Log(math.Exp(u)+l.pnc)-1e-3) }

// atSuction balances enthalpies at the suction pressure s, stores z and
// returns the residual of the flow.
func (l *loop) atSuction(s float64, z *[3]float64) float64 {
	z[0] = s
	at := func(w float64) float64 {
		z[2] = w
		return l.mismatch(z)
	}
	lo, hi := l.lo[2], l.hi[2]
	switch {
	case at(hi) > 0:
		z[2] = hi
	case at(lo) < 0:
		z[2] = lo
	default:
		l.illinois(lo, hi, l.fine*1e-8, at)
	}
	f := l.pass(z)
	return f[1]
}

// illinois finds a sign change of f between a and b by regula falsi with the
// Illinois weight, alternating with bisection, and leaves f evaluated there.
//
// published: Dowell, Jarratt 1971, BIT 11, the Illinois algorithm, as
// described in numerical-analysis texts; the paper itself not seen.
func (l *loop) illinois(a, b, tol float64, f func(float64) float64) {
	fa, fb := f(a), f(b)
	if !(fa*fb < 0) {
		return // the caller has looked at the ends; f stands at b
	}
	for i := range 80 {
		x := (a*fb - b*fa) / (fb - fa)
		if i%3 == 2 {
			x = 0.5 * (a + b)
		}
		fx := f(x)
		switch {
		case fx == 0:
			return
		case fx*fb < 0:
			a, fa = b, fb
		default:
			fa *= 0.5
		}
		b, fb = x, fx
		if math.Abs(b-a) < tol*math.Max(1, math.Abs(b)) {
			return
		}
	}
}
