package fieldtest

import (
	"math"

	"rung/internal/cycle"
	"rung/internal/plant"
)

func makePressure(p *Point, args []string) (reader, error) {
	port, err := oneOf(args, map[string]func(*cycle.State) float64{
		"suction": func(c *cycle.State) float64 { return float64(c.SuctionPressure) },
		"liquid":  func(c *cycle.State) float64 { return float64(c.LiquidPressure) },
	})
	ph := p.Phase
	return func(s *plant.State) Outcome { return value(port(s.CycleAt(phase(s, ph)))) }, err
}

// makeTemp reads a temperature of pipe or air.
func makeTemp(p *Point, args []string) (reader, error) {
	at, err := oneOf(args, map[string]func(*plant.State, *cycle.State) float64{
		"suction-line":      func(_ *plant.State, c *cycle.State) float64 { return float64(c.SuctionLineTemp) },
		"liquid-line":       func(_ *plant.State, c *cycle.State) float64 { return float64(c.LiquidLineTemp) },
		"discharge":         func(_ *plant.State, c *cycle.State) float64 { return float64(c.DischargeTemp) },
		"condenser-leaving": func(_ *plant.State, c *cycle.State) float64 { return float64(c.LeavingCondenser) },
		"return":            func(s *plant.State, _ *cycle.State) float64 { return float64(s.Return) },
		"supply":            supplyTemp,
	})
	ph := p.Phase
	return func(s *plant.State) Outcome { return value(at(s, s.CycleAt(phase(s, ph)))) }, err
}

// supplyTemp is that of the return once the compressor stands.
func supplyTemp(s *plant.State, c *cycle.State) float64 {
	if c == &s.Standing {
		return float64(s.Return)
	}
	return float64(s.Supply)
}

func makeAir(_ *Point, args []string) (reader, error) {
	at, err := oneOf(args, map[string]func(*plant.State) float64{
		"external-static": func(s *plant.State) float64 { return float64(s.Air.ExternalStatic) },
		"filter-drop":     func(s *plant.State) float64 { return float64(s.Air.FilterDrop) },
		"coil-drop":       func(s *plant.State) float64 { return float64(s.Air.CoilDrop) },
		"return-drop":     func(s *plant.State) float64 { return float64(-s.Air.ReturnStatic - s.Air.FilterDrop) },
		"supply-drop":     supplyDrop,
		"flow":            func(s *plant.State) float64 { return float64(s.Air.Flow) },
	})
	return func(s *plant.State) Outcome { return value(at(s)) }, err
}

// supplyDrop leaves out the coil where it sits behind the cabinet.
func supplyDrop(s *plant.State) float64 {
	d := s.Air.SupplyStatic
	if s.Plant().Nameplate().Indoor == plant.Furnace {
		d -= s.Air.CoilDrop
	}
	return float64(d)
}

// standingExcess is the pressure at rest above saturation at the colder of the
// two coils, where the liquid gathers.
func standingExcess(s *plant.State) Outcome {
	cold := min(s.Surroundings.Outdoor, s.Return)
	sat, err := s.Plant().Fluid().SaturationAtTemp(cold)
	if err != nil {
		return Outcome{}
	}
	return value(float64(s.Standing.LiquidPressure - sat.BubblePressure))
}

var (
	drier      = plant.MustParam("drier/restriction")
	liquidLine = plant.MustParam("liquid-line/restriction")
)

// makePipeDrop reads the fall of temperature along the liquid line, which the
// restrictions in it share by their drops.
func makePipeDrop(p *Point, args []string) (reader, error) {
	own, err := oneOf(args, map[string]plant.Param{"drier": drier, "line": liquidLine})
	return func(s *plant.State) Outcome {
		all := s.Params.At(drier) + s.Params.At(liquidLine)
		c := s.CycleAt(phase(s, p.Phase))
		if all == 0 || c == &s.Standing {
			return value(0)
		}
		return value(float64(c.RestrictionCool) * s.Params.At(own) / all)
	}, err
}

func roomOffset(s *plant.State) Outcome {
	if !s.Looks.DisplayLit {
		return value(math.NaN())
	}
	return value(float64(s.DisplayTemp - s.Surroundings.ReturnDryBulb))
}
