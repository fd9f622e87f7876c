package fieldtest

import (
	"fmt"
	"math"

	"rung/internal/circuit"
	"rung/internal/plant"
	"rung/internal/quantity"
)

// makeVolts reads the voltage between two nodes.
func makeVolts(p *Point, args []string) (reader, error) {
	if len(args) != 2 {
		return nil, fmt.Errorf("want two nodes, have %v", args)
	}
	a, b, ph := plant.Node(args[0]), plant.Node(args[1]), p.Phase
	return func(s *plant.State) Outcome { return volts(s, phase(s, ph), a, b) }, nil
}

func volts(s *plant.State, ph plant.PhaseID, a, b plant.Node) Outcome {
	v, err := s.Volts(ph, a, b, circuit.HighImpedance)
	if err != nil { // a node that is not fitted
		return Outcome{}
	}
	return value(float64(v))
}

// makeAcross reads the voltage across a device.
func makeAcross(p *Point, args []string) (reader, error) {
	if len(args) != 1 {
		return nil, fmt.Errorf("want one device, have %v", args)
	}
	id, ph := args[0], p.Phase
	return func(s *plant.State) Outcome { return across(s, phase(s, ph), id) }, nil
}

func across(s *plant.State, ph plant.PhaseID, device string) Outcome {
	d, ok := s.Plant().Wiring().Device(device)
	if !ok {
		return Outcome{}
	}
	return volts(s, ph, d.From, d.To)
}

// leads are the places of a clamp and the devices whose current it reads.
var leads = map[string]string{
	"compressor-common": "compressor/common-terminal",
	"herm":              "compressor/start-terminal",
	"fan":               "condenser-fan/protector",
	"blower":            "air-handler-board/blower-relay",
	"secondary":         "control-fuse/fuse",
}

func makeAmps(p *Point, args []string) (reader, error) {
	device, err := oneOf(args, leads)
	ph := p.Phase
	return func(s *plant.State) Outcome { return value(amps(s, phase(s, ph), device)) }, err
}

// amps returns the current through a device, NaN if it is not fitted.
func amps(s *plant.State, ph plant.PhaseID, device string) float64 {
	i, ok := s.Amps(ph, device)
	if !ok {
		return math.NaN()
	}
	return float64(i)
}

// bench are the sections that a capacitance meter is put on.
var bench = map[string]func(*plant.State) quantity.Capacitance{
	"herm":   func(s *plant.State) quantity.Capacitance { herm, _ := s.BenchCapacitance(); return herm },
	"fan":    func(s *plant.State) quantity.Capacitance { _, fan := s.BenchCapacitance(); return fan },
	"blower": func(s *plant.State) quantity.Capacitance { return quantity.Capacitance(s.Params.At(blowerFarads)) },
}

var blowerFarads = plant.MustParam("blower-capacitor/capacitance")

func makeCapacitance(_ *Point, args []string) (reader, error) {
	section, err := oneOf(args, bench)
	return func(s *plant.State) Outcome { return value(float64(section(s))) }, err
}

// underLoad are the clamp and meter places of a section while running.
type underLoad struct {
	device string
	node   plant.Node
	motor  func(*plant.State, plant.PhaseID) plant.MotorState
}

var runningSections = map[string]underLoad{
	"herm": {"compressor/start-terminal", plant.CapHerm, (*plant.State).CompressorAt},
	"fan":  {"run-capacitor/fan-lead", plant.CapFan, (*plant.State).OutdoorFanAt},
}

// makeRunningCapacitance reads capacitance as amps over volts of the section,
// which needs its motor turning and both meters above their noise.
func makeRunningCapacitance(p *Point, args []string) (reader, error) {
	sec, err := oneOf(args, runningSections)
	return func(s *plant.State) Outcome {
		ph := phase(s, p.Phase)
		if m := sec.motor(s, ph); m != plant.MotorRuns && m != plant.MotorSlow {
			return Outcome{}
		}
		v := volts(s, ph, sec.node, plant.CapC)
		if v.Kind != IsValue || v.Value < 20 { // practice: below it the quotient is noise
			return Outcome{}
		}
		const omega = 2 * math.Pi * 60 // rad/s, US supply
		return value(amps(s, ph, sec.device) / (omega * v.Value))
	}, err
}

func makeLineFuse(_ *Point, args []string) (reader, error) {
	fuse, err := oneOf(args, map[string]plant.OhmPoint{"1": plant.OhmFuse1, "2": plant.OhmFuse2})
	return func(s *plant.State) Outcome {
		if r, _ := s.Ohms(fuse); r > 1 { // ohm
			return word(1)
		}
		return word(0)
	}, err
}
