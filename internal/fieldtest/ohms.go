package fieldtest

import (
	"rung/internal/plant"
)

// ohmPoints are the places of an ohmmeter on dead, lifted parts.
var ohmPoints = map[string]plant.OhmPoint{
	"compressor-c-r":        plant.OhmCompressorCR,
	"compressor-c-s":        plant.OhmCompressorCS,
	"compressor-r-s":        plant.OhmCompressorRS,
	"compressor-ground":     plant.OhmCompressorGnd,
	"fan-main":              plant.OhmFanCR,
	"fan-ground":            plant.OhmFanGnd,
	"line-ground":           plant.OhmBranchGround,
	"capacitor-case":        plant.OhmCapCase,
	"crankcase-heater":      plant.OhmHeater,
	"contactor-coil":        plant.OhmCoil,
	"door-switch":           plant.OhmDoor,
	"transformer-primary":   plant.OhmPrimary,
	"transformer-secondary": plant.OhmSecondary,
	"outdoor-y-c":           plant.OhmCableYC,
	"indoor-r-c":            plant.OhmStatRC,
}

// hermShort is the one leak without an ohm point of its own.
var hermShort = plant.MustParam("run-capacitor/herm-short-resistance")

func makeOhms(_ *Point, args []string) (reader, error) {
	if len(args) == 1 && args[0] == "capacitor-herm" {
		return func(s *plant.State) Outcome { return value(s.Params.At(hermShort)) }, nil
	}
	part, err := oneOf(args, ohmPoints)
	return func(s *plant.State) Outcome {
		r, ok := s.Ohms(part)
		if !ok {
			return Outcome{}
		}
		return value(float64(r))
	}, err
}

// overloadOpen says whether the compressor's internal overload is open when
// the state has settled: as found, or by the call.
func overloadOpen(s *plant.State) bool {
	return !sound(s, overload) || s.Trip == plant.CompressorOverloadTrip
}

var overload = plant.MustParam("compressor/overload")

// sound says whether a parameter in words holds its healthy word.
func sound(s *plant.State, p plant.Param) bool { return s.Params.At(p) == 0 }
