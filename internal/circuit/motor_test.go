package circuit

import (
	"errors"
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"strconv"
	"strings"
	"testing"

	"rung/internal/published"
	"rung/internal/quantity"
)

// bench is one motor with its run capacitor on a stiff supply.
type bench struct {
	*Net
	line, motor, capacitor Branch
	drive                  []Drive
}

func newBench(t testing.TB, m Motor, volts quantity.Voltage, c quantity.Capacitance) *bench {
	t.Helper()
	b := NewBuilder(BaseFrequency)
	r, s := b.Node("R"), b.Node("S")
	var x bench
	x.line = b.Source("line", r, Ground, complex(float64(volts), 0), 1e-6) // stiff
	x.motor = b.Motor("motor", r, Ground, s, m)
	x.capacitor = b.Capacitor("capacitor", s, r, c)
	n, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	x.Net = n
	x.drive = []Drive{{Motor: x.motor, Rated: volts}}
	return &x
}

func ofType(t testing.TB, m MotorType) *bench {
	x := newBench(t, m.Motor, m.Volts, m.RunCapacitor)
	x.drive[0].Load = m.Load()
	return x
}

func named(t testing.TB, name string) MotorType {
	t.Helper()
	for _, m := range MotorSet() {
		if m.Name == name {
			return m
		}
	}
	t.Fatalf("no motor %q", name)
	return MotorType{}
}

func (x *bench) at(t testing.TB, slip float64) {
	t.Helper()
	x.SetSlip(x.motor, slip)
	if err := x.Solve(); err != nil {
		t.Fatal(err)
	}
}

func (x *bench) run(t testing.TB) Motion {
	t.Helper()
	if err := x.Run(x.drive); err != nil {
		t.Fatal(err)
	}
	return x.drive[0].Motion
}

func (x *bench) rpm() float64 {
	m := x.Motor(x.motor)
	return float64(m.Speed(x.Slip(x.motor), BaseFrequency)) * 60 / (2 * math.Pi)
}

func degrees(z complex128) float64 { return cmplx.Phase(z) * 180 / math.Pi }

// textbook is the 2-pole, 230 V, 35 µF motor of the published worked example.
var textbook = CoupledCoils{
	Poles: 2, MainOhms: 0.58, AuxOhms: 3.37, RotorOhms: 37.6e-6,
	MainHenry: 80.6e-3, AuxHenry: 196e-3, RotorHenry: 4.7e-6, MainRotorHenry: 0.588e-3, AuxRotorHenry: 0.909e-3,
	CoreOhms: 230 * 230 / 105.0, // core loss 105 W
}

func TestPublishedTextbookMotor(t *testing.T) {
	x := newBench(t, textbook.Motor(), 230, 35e-6)
	m := x.Motor(x.motor)
	slip := m.Slip(3500*2*math.Pi/60, BaseFrequency)
	x.at(t, slip)
	main, aux, common := x.MotorCurrents(x.motor)
	s, r := Node(2), Node(1)
	torque := float64(x.Torque(x.motor))
	got := map[string]float64{
		"running main-current":                   cmplx.Abs(main),
		"running main-angle":                     degrees(main),
		"running auxiliary-current":              cmplx.Abs(aux),
		"running auxiliary-angle":                degrees(-aux), // its polarity reversed in the source
		"running line-current-without-core-loss": cmplx.Abs(main + aux),
		"running line-angle-without-core-loss":   degrees(main + aux),
		"running power-factor":                   math.Cos(cmplx.Phase(main + aux)),
		"running core-loss":                      230 * real(common-main-aux),
		"running capacitor-voltage":              cmplx.Abs(x.Voltage(s, r)),
		"running torque":                         torque,
		"running mechanical-power":               torque * float64(m.Speed(slip, BaseFrequency)),
		"running input-before-core-loss":         float64(x.Power(x.motor)) - 105,
	}
	x.at(t, 1)
	main, aux, _ = x.MotorCurrents(x.motor)
	got["locked current"] = cmplx.Abs(main + aux)
	got["locked torque"] = float64(x.Torque(x.motor))
	published.Read(t, "textbook-motor.txt").CheckList(t, got)
}

// The same motor straight from the coupled-coil equations, which know nothing
// of leakage and magnetising reactance: both forms must give the same matrix.
func TestCoupledCoilsMatchRevolvingField(t *testing.T) {
	m := textbook.Motor()
	w := 2 * math.Pi * 60
	for _, slip := range []float64{1e-6, 0.0278, 0.3, 1, 1.7} {
		k := func(s float64) complex128 {
			return complex(s*w, 0) / (2 * complex(float64(textbook.RotorOhms), s*w*textbook.RotorHenry))
		}
		sum, difference := k(slip)+k(2-slip), k(slip)-k(2-slip)
		mm, ma := complex(textbook.MainRotorHenry, 0), complex(-textbook.AuxRotorHenry, 0) // auxiliary reversed
		want := WindingImpedance{
			MainMain: complex(float64(textbook.MainOhms), 0) + complex(0, w)*(complex(textbook.MainHenry, 0)-1i*mm*mm*sum),
			MainAux:  complex(0, w) * mm * ma * difference,
			AuxMain:  -complex(0, w) * mm * ma * difference,
			AuxAux:   complex(float64(textbook.AuxOhms), 0) + complex(0, w)*(complex(textbook.AuxHenry, 0)-1i*ma*ma*sum),
		}
		got := m.Impedance(slip, BaseFrequency)
		for _, pair := range [][2]complex128{{got.MainMain, want.MainMain}, {got.MainAux, want.MainAux}, {got.AuxMain, want.AuxMain}, {got.AuxAux, want.AuxAux}} {
			if cmplx.Abs(pair[0]-pair[1]) > 1e-11*cmplx.Abs(want.AuxAux) { // rounding
				t.Errorf("slip %g: Impedance = %v, want %v", slip, got, want)
			}
		}
	}
}

// The figures of the motor set at load are those of the fit from which its
// constants were printed with two to four digits.
func TestMotorSetFigures(t *testing.T) {
	if n := len(MotorSet()); n != 14 {
		t.Fatalf("%d motors, want 14", n)
	}
	for _, m := range MotorSet() {
		t.Run(m.Name, func(t *testing.T) {
			x := ofType(t, m)
			if got := x.run(t); got != Turning {
				t.Fatalf("motion %v, want turning", got)
			}
			published.Near(t, "slip", x.Slip(x.motor), m.Slip, 0.002) // two digits printed, rated load from the same slip
			main, aux, common := x.MotorCurrents(x.motor)
			within := func(want float64) float64 { return lastDigit(want) + 0.01*want } // constants of two to four digits
			for _, row := range []struct {
				name      string
				got, want float64
			}{
				{"line, A", cmplx.Abs(common), float64(m.Expected.Line)},
				{"main, A", cmplx.Abs(main), float64(m.Expected.Main)},
				{"aux, A", cmplx.Abs(aux), float64(m.Expected.Aux)},
				{"capacitor, V", cmplx.Abs(x.Voltage(2, 1)), float64(m.Expected.CapacitorVolts)},
				{"S to C, V", cmplx.Abs(x.At(2)), float64(m.Expected.StartVolts)},
			} {
				published.Near(t, row.name, row.got, row.want, within(row.want))
			}
			running := float64(x.Torque(x.motor))
			x.at(t, 1)
			published.Near(t, "locked, A", float64(Amps(x.Current(x.motor))), float64(m.Expected.LockedRotor), within(float64(m.Expected.LockedRotor)))
			published.Near(t, "locked over running torque", float64(x.Torque(x.motor))/running, float64(m.Expected.LockedTorque), within(float64(m.Expected.LockedTorque)))
		})
	}
}

// lastDigit returns half a unit of the last digit of a number as it was
// printed, with at least two digits.
func lastDigit(x float64) float64 {
	mantissa, exponent, _ := strings.Cut(strconv.FormatFloat(x, 'e', -1, 64), "e")
	power, _ := strconv.Atoi(exponent)
	digits := max(2, len(strings.ReplaceAll(mantissa, ".", "")))
	return 0.5 * math.Pow10(power-digits+1)
}

// Amps in the line hardly tell a weak run capacitor, amps in the main winding
// do.
func TestPublishedWeakCapacitor(t *testing.T) {
	got := map[string]float64{}
	weakOnCompressor(t, got)
	weakOnFan(t, got)
	hardStart(t, got)
	published.Read(t, "weak-capacitor.txt").CheckList(t, got)
}

// weakOnCompressor puts into got what a 3 ton compressor does.
func weakOnCompressor(t *testing.T, got map[string]float64) {
	t.Helper()
	m := named(t, "comp-3-ton")
	x := ofType(t, m)
	x.at(t, 1)
	locked := float64(x.Torque(x.motor))
	for _, percent := range []quantity.Capacitance{100, 90, 80, 60, 40} {
		in := fmt.Sprintf("compressor-%g-%% ", float64(percent))
		x.SetCapacitance(x.capacitor, m.RunCapacitor*percent/100)
		x.at(t, 1)
		got[in+"locked-torque-ratio"] = float64(x.Torque(x.motor)) / locked
		x.drive[0].Motion = Turning
		x.SetSlip(x.motor, 0.03)
		for range 4 { // the stated figures hold the shaft power, not the torque
			if got := x.run(t); got != Turning {
				t.Fatalf("at %g %% of its capacitance: %v, want turning", percent, got)
			}
			speed := m.Motor.Speed(x.Slip(x.motor), BaseFrequency)
			x.drive[0].Load.Torque = quantity.Torque(float64(m.ShaftPower) / float64(speed))
		}
		main, _, common := x.MotorCurrents(x.motor)
		got[in+"line-current"], got[in+"main-current"] = cmplx.Abs(common), cmplx.Abs(main)
		got[in+"capacitor-voltage"] = cmplx.Abs(x.Voltage(2, 1))
	}
	x = newBench(t, m.Motor, 230, 0)
	x.drive[0].Load = m.Load()
	if got := x.run(t); got != Stalled {
		t.Fatalf("open capacitor: %v, want stalled", got)
	}
	got["compressor-open-at-rest line-current"] = float64(Amps(x.Current(x.motor)))
	published.Near(t, "torque, N·m", float64(x.Torque(x.motor)), 0, 1e-5) // through the gigohm of the open section alone
}

// weakOnFan is the same of a 1/4 hp outdoor fan with a load by the fan law.
func weakOnFan(t *testing.T, got map[string]float64) {
	t.Helper()
	m := named(t, "fan-1/4-hp")
	x := ofType(t, m)
	for _, row := range []struct {
		in       string
		fraction quantity.Capacitance
	}{{"fan-100-% ", 1}, {"fan-60-% ", 0.6}, {"fan-open-while-turning ", 0}} {
		x.SetCapacitance(x.capacitor, m.RunCapacitor*row.fraction)
		if row.fraction == 0 {
			x.drive[0].Motion = Turning
		}
		if got := x.run(t); got != Turning {
			t.Fatalf("%s: %v, want turning", row.in, got)
		}
		got[row.in+"speed"], got[row.in+"line-current"] = x.rpm(), float64(Amps(x.Current(x.motor)))
	}
	x.drive[0].Motion = AtRest // open at rest
	if got := x.run(t); got != Stalled {
		t.Fatalf("open capacitor from rest: %v, want stalled", got)
	}
	got["fan-open-at-rest line-current"] = float64(Amps(x.Current(x.motor)))
	published.Near(t, "hum torque, N·m", float64(x.Torque(x.motor)), 0, 1e-12)
}

// hardStart is a start capacitor across HERM-C of the 3 ton compressor.
func hardStart(t *testing.T, got map[string]float64) {
	t.Helper()
	m := named(t, "comp-3-ton")
	for _, added := range []quantity.Capacitance{0, 100, 200} {
		in := fmt.Sprintf("compressor-with-%g-µF ", float64(added))
		x := newBench(t, m.Motor, 230, m.RunCapacitor+added*1e-6)
		x.at(t, 1)
		got[in+"locked-torque"] = float64(x.Torque(x.motor))
		got[in+"locked-current"] = float64(Amps(x.Current(x.motor)))
	}
}

// A pitted pole lowers the voltage of a running compressor; the published case
// has its slip solved again for the same shaft load.
func TestSlipFollowsVoltage(t *testing.T) {
	for _, r := range references(t) {
		if r.ID != "cu-3t-pitted-contact-run" {
			continue
		}
		n := compileReference(t, &r.Case)
		comp := n.branch["COMP"]
		m := n.Motor(comp)
		speed := m.Speed(0.02934, BaseFrequency)
		d := []Drive{{Motor: comp, Rated: 230, Motion: Turning,
			Load: CompressorLoad(quantity.Power(r.torques["COMP"]*float64(speed)), speed)}}
		n.SetSlip(comp, 0.2)
		if err := n.Run(d); err != nil {
			t.Fatal(err)
		}
		published.Near(t, "slip", n.Slip(comp), 0.02934, 1e-5) // torque printed with five digits
	}
}

// No published figure: a load above the greatest torque must stall the motor,
// and a dead supply must leave it at rest.
func TestRunFindsNoBalance(t *testing.T) {
	m := named(t, "comp-3-ton")
	x := ofType(t, m)
	x.drive[0].Load.Torque *= 6
	x.drive[0].Motion = Turning
	x.SetSlip(x.motor, 0.03)
	if got := x.run(t); got != Stalled {
		t.Errorf("six times the load: %v, want stalled", got)
	}
	x = ofType(t, m)
	x.drive[0].Load.Starting = 1
	if got := x.run(t); got != Stalled {
		t.Errorf("started against full load: %v, want stalled", got)
	}
	x.SetSource(x.line, 5)
	if got := x.run(t); got != AtRest {
		t.Errorf("no voltage: %v, want at-rest", got)
	}
}

func TestSelectMotorScales(t *testing.T) {
	m, err := SelectMotor(CompressorMotor, 12309, 208) // 3.5 tons on the low voltage
	if err != nil {
		t.Fatal(err)
	}
	x := ofType(t, m)
	if got := x.run(t); got != Turning {
		t.Fatalf("%v, want turning", got)
	}
	published.Near(t, "line, A", float64(Amps(x.Current(x.motor))), float64(m.Expected.Line), 0.01*float64(m.Expected.Line)) // constants of two to four digits
	speed := m.Motor.Speed(x.Slip(x.motor), BaseFrequency)
	published.Near(t, "shaft, W", float64(x.Torque(x.motor))*float64(speed), float64(m.ShaftPower), 0.01*float64(m.ShaftPower))
	for _, row := range []struct{ nominal, volts float64 }{{1000, 230}, {10550, 460}} {
		var limits *quantity.RangeError
		if _, err := SelectMotor(CompressorMotor, quantity.Power(row.nominal), quantity.Voltage(row.volts)); !errors.As(err, &limits) {
			t.Errorf("SelectMotor(%g W, %g V): error %v, want a RangeError", row.nominal, row.volts, err)
		}
	}
	if _, err := SelectMotor(CompressorMotor, quantity.Power(math.NaN()), 230); err == nil {
		t.Error("SelectMotor(NaN): no error")
	}
}

func TestPublishedCapacitance(t *testing.T) {
	for _, row := range published.Read(t, "capacitor.txt").Rows {
		c, err := CapacitanceUnderLoad(quantity.Current(row.Number(t, "current")), quantity.Voltage(row.Number(t, "voltage")),
			quantity.Frequency(row.Number(t, "frequency")))
		if err != nil {
			t.Fatal(err)
		}
		row.Check(t, "capacitance", float64(c)*1e6, published.Within(row.Number(t, "tolerance")))
	}
	if _, err := CapacitanceUnderLoad(1, 0, 60); err == nil {
		t.Error("no error at zero volts")
	}
}

// Nothing is published for two motors that disturb each other through a bad
// contact: wherever Run ends, a turning motor must be in balance with its load,
// on the stable side, and a stalled one at slip 1.
func TestRunEndsInBalance(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 5)) // seed 3, 5
	between := func(lo, hi float64) float64 { return lo + (hi-lo)*rng.Float64() }
	comp, fan := named(t, "comp-3-ton"), named(t, "fan-1/4-hp")
	b := NewBuilder(BaseFrequency)
	r, s, f := b.Node("R"), b.Node("S"), b.Node("F")
	line := b.Source("line", r, Ground, 230, 0.2)
	drives := []Drive{
		{Motor: b.Motor("compressor", r, Ground, s, comp.Motor), Rated: 230},
		{Motor: b.Motor("fan", r, Ground, f, fan.Motor), Rated: 230},
	}
	herm := b.Capacitor("herm", s, r, comp.RunCapacitor)
	fanCapacitor := b.Capacitor("fan-capacitor", f, r, fan.RunCapacitor)
	n, err := b.Compile()
	if err != nil {
		t.Fatal(err)
	}
	seen := map[Motion]int{}
	for trial := range 2000 {
		n.SetSource(line, complex(between(60, 260), 0))
		n.SetImpedance(line, complex(math.Exp(between(-4, 2)), 0.02))
		n.SetCapacitance(herm, comp.RunCapacitor*quantity.Capacitance(between(0, 1.2)))
		n.SetCapacitance(fanCapacitor, fan.RunCapacitor*quantity.Capacitance(between(0, 1.2)))
		for i, m := range []MotorType{comp, fan} {
			drives[i].Load = m.Load()
			drives[i].Load.Torque *= quantity.Torque(between(0.2, 3))
			drives[i].Motion = Motion(rng.IntN(3))
			n.SetSlip(drives[i].Motor, between(0.01, 1))
		}
		if err := n.Run(drives); err != nil {
			t.Fatalf("trial %d: %v", trial, err)
		}
		for i := range drives {
			d := &drives[i]
			seen[d.Motion]++
			m, slip := n.Motor(d.Motor), n.Slip(d.Motor)
			if d.Motion != Turning {
				if slip != 1 {
					t.Errorf("trial %d: %v at slip %g", trial, d.Motion, slip)
				}
				continue
			}
			want := float64(d.Load.At(m.Speed(slip, BaseFrequency)))
			published.Near(t, "torque of a turning motor, N·m", float64(n.Torque(d.Motor)), want, 1e-4*float64(d.Load.Torque)) // slip to 1e-7 on a slope of up to 1000 torques per unit
		}
	}
	if seen[Turning] == 0 || seen[Stalled] == 0 {
		t.Errorf("outcomes %v, want some of each", seen)
	}
}
