package plant

import (
	"fmt"
	"math"

	"rung/internal/airflow"
	"rung/internal/circuit"
	"rung/internal/cycle"
	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// Plant is one system, calibrated from its nameplate. It is not changed by a
// solve, so one Plant may serve many goroutines, each with its own Solver.
type Plant struct {
	plate    Nameplate
	assumed  []Assumption
	wiring   Wiring
	frame    *frame
	machines []*cycle.Machine // by machine/variant
	fluid    *refrigerant.Fluid
	ducts    *airflow.System
	motors   motors
	duties   []duty // by machine/variant
	healthy  Params
	cooling  []string  // devices of the cooling rung, from R to C
	joints   []binding // line-voltage joints that can be seen to have been hot
}

// Build makes a plant from a nameplate, whose unknown fields are filled in as
// Complete does. A nameplate that Check refuses, or that no machine can be
// calibrated to, is an error.
func Build(n Nameplate) (*Plant, error) {
	full, assumed := n.Complete()
	if err := full.Check(); err != nil {
		return nil, err
	}
	p := &Plant{plate: full, assumed: assumed, wiring: layout(&full)}
	if err := p.calibrate(); err != nil {
		return nil, err
	}
	var err error
	if p.ducts, err = airflow.New(ductDesign(&full)); err != nil {
		return nil, fmt.Errorf("plant: ducts: %w", err)
	}
	if p.motors, err = fitMotors(&full, p.machines[0], p.ducts); err != nil {
		return nil, err
	}
	for _, m := range p.machines {
		d, err := dutyOf(m, &p.motors, &full)
		if err != nil {
			return nil, err
		}
		p.duties = append(p.duties, d)
	}
	if p.frame, err = newFrame(&p.wiring); err != nil {
		return nil, err
	}
	for _, l := range p.wiring.Ladders {
		if l.Name == "control" {
			p.cooling = l.Rungs[0].Steps
		}
	}
	for _, id := range joints {
		param, bound := resistanceOf[id]
		if !bound { // the start terminal, which is two resistances in one
			param = pStartTermOhms
		}
		p.joints = append(p.joints, binding{p.frame.place[id], param})
	}
	p.healthy = p.healthyParams()
	return p, nil
}

// Nameplate returns the completed nameplate.
func (p *Plant) Nameplate() Nameplate { return p.plate }

// Assumptions returns what was filled in for unknown fields.
func (p *Plant) Assumptions() []Assumption { return p.assumed }

// Wiring returns the electrical structure. The caller must not change it.
func (p *Plant) Wiring() *Wiring { return &p.wiring }

// Has says whether the plant has a piece of equipment.
func (p *Plant) Has(e Equipment) bool { return p.plate.Has(e) }

// Fluid returns the refrigerant.
func (p *Plant) Fluid() *refrigerant.Fluid { return p.fluid }

// Healthy returns the parameters of the sound plant, without tolerances.
func (p *Plant) Healthy() Params { return p.healthy }

// calibrate makes the average machine of the plate and its variants.
func (p *Plant) calibrate() error {
	var err error
	if p.fluid, err = refrigerant.Lookup(p.plate.Refrigerant); err != nil {
		return fmt.Errorf("plant: %w", err)
	}
	n := &p.plate
	rating := cycle.Rating{
		Refrigerant: p.fluid, Metering: n.Metering, NetCapacity: n.NominalCooling, EER: n.EER, SEER: n.SEER,
		TargetSubcooling: n.TargetSubcooling, TargetSuperheat: n.TargetSuperheat, LineLength: n.LineLength,
	}
	if n.HeatPump == Yes {
		rating.HeatPump, rating.HeatingCapacity, rating.HSPF, rating.HeatingCOP = true, n.HeatingCapacity, n.HSPF, n.HeatingCOP
	}
	if n.Compressor == Reciprocating {
		rating.Compressor = cycle.Reciprocating
	}
	variants := int(MustParam("machine/variant").Describe().Max) + 1
	for i := range variants {
		rating.Spread = variantSpread(i)
		m, err := cycle.Calibrate(rating)
		if err != nil {
			if i == 0 {
				return fmt.Errorf("plant: calibrate to the nameplate: %w", err)
			}
			m = p.machines[0] // a variant too far from any real machine: the average stands in
		}
		p.machines = append(p.machines, m)
	}
	return nil
}

// variantSpread returns by how much machine i differs from the average of its
// plate: nothing for 0, else independent normal draws by a low-discrepancy
// sequence, so that few variants cover the spread evenly.
//
// practice: standard deviations: condensing over ambient 2.5 °F, evaporating
// 1.5 °F, superheat setting 2 °F, EER 4 %; charge sensitivity 0.15 and slip
// exponent 0.05 span the ranges 0.9 to 1.5 and 0.25 to 0.45 of the literature.
func variantSpread(i int) cycle.Spread {
	if i == 0 {
		return cycle.Spread{}
	}
	z := func(base int) float64 { return normalQuantile(halton(i, base)) }
	return cycle.Spread{
		CondensingOverAmbient: quantity.TempDiff(2.5 * 5 / 9 * z(2)),
		Evaporating:           quantity.TempDiff(1.5 * 5 / 9 * z(3)),
		Superheat:             quantity.TempDiff(2.0 * 5 / 9 * z(5)),
		EER:                   quantity.Ratio(0.04 * z(7)),
		ChargeSensitivity:     quantity.Ratio(0.15 * z(11)),
		SlipExponent:          quantity.Ratio(0.05 * z(13)),
		OrificeExponent:       quantity.Ratio(0.08 * z(17)),
	}
}

// halton returns element i of the Halton sequence of a prime base, in (0, 1).
//
// memory: Halton 1960, Numerische Mathematik 2, radical inverse; not seen.
func halton(i, base int) float64 {
	f, r := 1.0, 0.0
	for ; i > 0; i /= base {
		f /= float64(base)
		r += f * float64(i%base)
	}
	return r
}

// ductDesign returns the air side that goes with a nameplate.
//
// practice: at 400 CFM per ton a clean filter takes 0.10 in. w.c., the dry coil
// 0.20, supply and return ducts 0.12 and 0.10: together a usual system of 0.5.
func ductDesign(n *Nameplate) airflow.Design {
	d := airflow.Design{Blower: airflow.PSC, Flow: n.Airflow,
		Return: 25, Filter: 25, Coil: 50, Supply: 30, // Pa
		CoilOutside: n.Indoor == Furnace}
	if n.Blower == ConstantAirflowMotor {
		d.Blower = airflow.ConstantAirflow
	}
	return d
}

// healthyParams fills in every parameter: defaults of the registry, and those
// that follow from the nameplate.
func (p *Plant) healthyParams() Params {
	n := &p.plate
	var ps Params
	for i, d := range registry {
		ps.v[i] = d.Default
	}
	cable := func(length quantity.Length) float64 { return awg18 * float64(length) }
	wire, _ := conductorOhmsPerMetre(n.ConductorAWG) // checked
	hps, lps := n.pressureSwitches()
	x := transformerFor(n)
	for path, v := range map[string]float64{
		"line-conductors/resistance":            wire * float64(n.ConductorLength),
		"high-pressure-switch/open-pressure":    hps.open,
		"high-pressure-switch/close-pressure":   hps.close,
		"low-pressure-switch/open-pressure":     lps.open,
		"low-pressure-switch/close-pressure":    lps.close,
		"run-capacitor/herm-capacitance":        float64(n.HermCapacitance),
		"run-capacitor/fan-capacitance":         float64(n.FanCapacitance),
		"start-assist/capacitance":              startCapacitance,
		"compressor/run-winding-resistance":     float64(p.motors.compressor.MainOhms),
		"compressor/start-winding-resistance":   float64(p.motors.compressor.AuxOhms),
		"condenser-fan/main-winding-resistance": float64(p.motors.fan.MainOhms),
		"condenser-fan/aux-winding-resistance":  float64(p.motors.fan.AuxOhms),
		"blower-motor/main-winding-resistance":  float64(p.motors.blower.MainOhms),
		"blower-motor/aux-winding-resistance":   float64(p.motors.blower.AuxOhms),
		"blower-capacitor/capacitance":          float64(n.BlowerCap),
		"transformer/primary-resistance":        real(x.Primary),
		"transformer/secondary-resistance":      real(x.Secondary),
		"thermostat/supply":                     float64(n.Thermostat - CommonWire),
		"thermostat-cable/r-resistance":         cable(n.ThermostatCable),
		"thermostat-cable/c-resistance":         cable(n.ThermostatCable),
		"thermostat-cable/y-resistance":         cable(n.ThermostatCable),
		"thermostat-cable/g-resistance":         cable(n.ThermostatCable),
		"thermostat-cable/w-resistance":         cable(n.ThermostatCable),
		"outdoor-cable/y-resistance":            cable(n.OutdoorCable),
		"outdoor-cable/c-resistance":            cable(n.OutdoorCable),
	} {
		ps.v[MustParam(path)] = v
	}
	for i, d := range registry {
		if math.IsNaN(ps.v[i]) {
			panic("plant: no healthy value for " + d.Path)
		}
	}
	return ps
}

// awg18 is the resistance of one 18 AWG solid copper conductor, ohm per metre.
// published: NEC chapter 9 table 8, 7.77 ohm per 1000 ft at 75 °C, less 18 %
// for 20 °C, as quoted in a public copy: 6.4 ohm per 1000 ft.
const awg18 = 6.4 / 304.8

// startCapacitance is that of a usual field-fitted start capacitor, F.
// practice: 88 to 108 µF for units to 3.5 t.
const startCapacitance = 98e-6

// switchPressures are the gauge pressures of a pressure switch, Pa.
type switchPressures struct{ open, close float64 }

// pressureSwitches returns the usual settings for the group of the refrigerant.
//
// practice: R-410A high side opens at 610 to 650 psig and closes at 400 to 500;
// R-454B, R-32 and R-452B units are taken to have the same.
// memory: R-22 high side 400 to 450 psig, low sides 20 to 50 and 5 to 25 psig,
// closing at 35 to 90 and 40 to 60.
func (n *Nameplate) pressureSwitches() (high, low switchPressures) {
	if n.normal() {
		return switchPressures{2.93e6, 2.07e6}, switchPressures{0.103e6, 0.345e6} // 425/300, 15/50 psig
	}
	return switchPressures{4.34e6, 3.10e6}, switchPressures{0.241e6, 0.414e6} // 630/450, 35/60 psig
}

// transformerFor returns the control transformer of a nameplate.
func transformerFor(n *Nameplate) circuit.Transformer {
	return circuit.ControlTransformer(n.Transformer, n.TransformerVA)
}
