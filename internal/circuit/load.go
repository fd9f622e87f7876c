package circuit

import (
	"rung/internal/num"
	"rung/internal/quantity"
)

// Load is what the shaft of a motor has to turn.
type Load struct {
	Torque quantity.Torque       // at Speed
	Speed  quantity.AngularSpeed // rated
	// Fan says that torque grows with the square of speed; otherwise it is the
	// same at every speed.
	Fan bool
	// Starting is the torque that must be overcome at rest, as a fraction of
	// Torque. A fan has only its bearings; a compressor that starts with its
	// pressures equal has little more, and keeps it while it runs up; against
	// a pressure difference it has 1 or more.
	Starting quantity.Ratio
}

// Breakaway torques of healthy loads.
const (
	FanStarting        quantity.Ratio = 0.01 // practice: bearings
	CompressorStarting quantity.Ratio = 0.10 // practice: pressures equal
)

// FanLoad returns the load of a fan or blower that takes shaft power p at a
// speed.
func FanLoad(p quantity.Power, speed quantity.AngularSpeed) Load {
	return Load{Torque: quantity.Torque(float64(p) / float64(speed)), Speed: speed, Fan: true, Starting: FanStarting}
}

// CompressorLoad returns the load of a compressor that takes shaft power p at
// a speed, started with its pressures equal.
func CompressorLoad(p quantity.Power, speed quantity.AngularSpeed) Load {
	return Load{Torque: quantity.Torque(float64(p) / float64(speed)), Speed: speed, Starting: CompressorStarting}
}

// At returns the torque that l takes while turning at a speed.
func (l Load) At(speed quantity.AngularSpeed) quantity.Torque {
	if !l.Fan {
		return l.Torque
	}
	x := quantity.Torque(speed / l.Speed)
	return l.Torque * x * x
}

// Motion is what a motor does.
type Motion uint8

const (
	AtRest  Motion = iota // no voltage to speak of, not turning
	Turning               // in balance with its load
	Stalled               // energised and not turning: it hums
)

func (m Motion) String() string {
	return [...]string{"at-rest", "turning", "stalled"}[m]
}

// Drive is a motor with its load.
type Drive struct {
	Motor Branch
	Load  Load
	// Rated is the nameplate voltage; below a tenth of it the motor counts as
	// not energised.
	Rated  quantity.Voltage
	Motion Motion
}

// Energised is the fraction of rated voltage from which a motor counts as
// energised.
const Energised = 0.1 // practice: a hum is heard above about that

// Run finds the steady slip of all drives together and solves n for it.
//
// A drive that is Turning goes on from its present slip to the balance of
// torque that it reaches by speeding up or slowing down. One that is AtRest or
// Stalled, and energised, starts from rest: if its torque does not overcome the
// starting torque it is Stalled, with slip 1. So a motor with an open run
// capacitor does not start, but keeps turning when it already does. Motion is
// updated in place.
//
// An error is that of Solve, or a *num.ConvergenceError if the motors disturb
// each other without end.
func (n *Net) Run(drives []Drive) error {
	// What a change of slip does to the other motors through their common
	// supply is some hundredths of itself, so that a last change of 1e-5 leaves
	// them within 1e-6. A motor on its own is exact at once.
	const rounds, tolerance = 30, 1e-5 // slip
	change := 0.0
	for round := range rounds {
		if err := n.Solve(); err != nil {
			return err
		}
		alone := len(drives) == 1 && drives[0].Motion == Turning // and its whole load counts
		if round > 0 && change <= tolerance {
			return nil
		}
		change = 0
		for i := range drives {
			d := &drives[i]
			before := n.Slip(d.Motor)
			n.settle(d, round == 0)
			change = max(change, abs(n.Slip(d.Motor)-before))
		}
		if alone {
			return n.Solve()
		}
	}
	return &num.ConvergenceError{Op: "circuit.Net.Run", Iterations: rounds, Residual: change}
}

// settle moves one drive to its slip, the rest of the network as it is. Only
// the first time may it start from rest.
func (n *Net) settle(d *Drive, first bool) {
	e := &n.elements[d.Motor]
	m := &n.motors[e.index]
	if n.MotorVolts(d.Motor) < Energised*d.Rated {
		d.Motion = AtRest
		n.SetSlip(d.Motor, 1)
		return
	}
	if d.Motion != Turning && !first {
		return
	}
	p := n.portOf(e, m)
	start := m.slip
	load := d.Load
	if d.Motion != Turning {
		start = 1
		breakaway := load.Torque * quantity.Torque(load.Starting)
		if !(p.torque(m, n.f, 1) > breakaway) {
			d.Motion = Stalled
			n.SetSlip(d.Motor, 1)
			return
		}
		if !load.Fan {
			load.Torque = breakaway // while it runs up; the rest of the load comes in later rounds
		}
	}
	slip := p.balance(m, n.f, load, start)
	d.Motion = Turning
	if slip >= 1 {
		d.Motion = Stalled
	}
	n.SetSlip(d.Motor, slip)
}

// slips are the places between which a balance of torque is looked for: closer
// together where torque changes fast.
var slips = [...]float64{0, 0.005, 0.01, 0.02, 0.03, 0.045, 0.06, 0.08, 0.1, 0.13, 0.16, 0.2, 0.25, 0.32, 0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1}

// balance returns the slip to which m moves from slip start under a load: the
// first balance of torque in the direction that the excess of torque drives it.
// It is 1 if there is none while slowing down.
func (p *port) balance(m *motor, f quantity.Frequency, load Load, start float64) float64 {
	excess := func(s float64) float64 { return float64(p.torque(m, f, s) - load.At(m.Speed(s, f))) }
	at, e := start, excess(start)
	if e == 0 {
		return start
	}
	// A turning motor is mostly near its balance, where torque goes with slip.
	const widest = 0.02 // of slip: no more than a step of slips there
	if start < 1 {
		d := e / float64(load.At(m.Speed(start, f))) * max(start, 1e-3)
		s := start - max(min(1.5*d, widest), -widest)
		if s > 0 && s < 1 {
			es := excess(s)
			if (es > 0) != (e > 0) {
				return root(excess, at, e, s, es)
			}
			at, e = s, es
		}
	}
	if e > 0 { // speeds up: slip falls
		for i := len(slips) - 1; i >= 0; i-- {
			s := slips[i]
			if s >= at {
				continue
			}
			es := excess(s)
			if es <= 0 {
				return root(excess, at, e, s, es)
			}
			at, e = s, es
		}
		return 0
	}
	for _, s := range slips {
		if s <= at {
			continue
		}
		es := excess(s)
		if es >= 0 {
			return root(excess, at, e, s, es)
		}
		at, e = s, es
	}
	return 1
}

// root returns where f, fa at a and fb at b, changes its sign: by regula falsi
// with the Illinois weight, which a torque that is nearly straight needs two or
// three times.
//
// published: Dowell, Jarratt 1971, BIT 11, the Illinois algorithm, as
// described in numerical-analysis texts; the paper itself not seen.
func root(f func(float64) float64, a, fa, b, fb float64) float64 {
	const tries, near = 60, 1e-8 // slip; far below any tolerance
	for range tries {
		if fb == 0 || abs(b-a) < near {
			return b
		}
		x := b - fb*(b-a)/(fb-fa)
		fx := f(x)
		if (fx > 0) != (fb > 0) {
			a, fa = b, fb
		} else {
			fa /= 2
		}
		if abs(x-b) < near {
			return x
		}
		b, fb = x, fx
	}
	return b
}

// port is the network as a motor sees it: the currents that it drives into R
// and S with C joined to both, and its admittance matrix.
type port struct {
	im, ia complex128
	y      WindingAdmittance
}

// portOf takes the motor out of the factored network.
func (n *Net) portOf(e *element, m *motor) port {
	r, c, s := e.nodes[0], e.nodes[1], e.nodes[2]
	main, aux := n.pair(n.x, r, c), n.pair(n.xa, s, c)
	n.plan.forward(&n.live, n.x, main)
	n.plan.forward(&n.live, n.xa, aux)
	n.pair(n.w, r, c)
	n.plan.backward(&n.live, n.w, main)
	n.pair(n.wa, s, c)
	n.plan.backward(&n.live, n.wa, aux)
	z := WindingImpedance{
		MainMain: dot(n.w, n.x, main), MainAux: dot(n.w, n.xa, main),
		AuxMain: dot(n.wa, n.x, aux), AuxAux: dot(n.wa, n.xa, aux),
	}
	y := z.Admittance()
	var p port
	p.im, p.ia = y.Currents(n.Voltage(r, c), n.Voltage(s, c))
	p.y = WindingAdmittance{
		MainMain: y.MainMain - m.y.MainMain, MainAux: y.MainAux - m.y.MainAux,
		AuxMain: y.AuxMain - m.y.AuxMain, AuxAux: y.AuxAux - m.y.AuxAux,
	}
	return p
}

// torque returns the torque of m at a slip when fed by p. The core loss of m
// counts to the network. With the port's currents j and admittances Y and the
// windings' impedances Z, the windings carry (1 + Y·Z)⁻¹·j.
func (p *port) torque(m *motor, f quantity.Frequency, slip float64) quantity.Torque {
	zf, zb := m.fields(slip, f)
	z := m.windings(zf, zb, f)
	y := &p.y
	a, b := 1+y.MainMain*z.MainMain+y.MainAux*z.AuxMain, y.MainMain*z.MainAux+y.MainAux*z.AuxAux
	c, d := y.AuxMain*z.MainMain+y.AuxAux*z.AuxMain, 1+y.AuxMain*z.MainAux+y.AuxAux*z.AuxAux
	inv := reciprocal(a*d - b*c)
	return m.torque(zf, zb, f, (d*p.im-b*p.ia)*inv, (a*p.ia-c*p.im)*inv)
}

func abs(x float64) float64 { return max(x, -x) }
