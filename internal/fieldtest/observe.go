package fieldtest

import (
	"fmt"

	"rung/internal/plant"
)

// observation returns the word that is seen, heard or felt, "" for none.
type observation func(*plant.State, plant.PhaseID) string

// makeWord makes a reader of an observation whose words must be those of the
// point; which words it can say is tested.
func makeWord(f observation) maker {
	return func(p *Point, args []string) (reader, error) {
		if len(args) != 0 || len(p.Words) < 2 {
			return nil, fmt.Errorf("an observation needs words before it, and no arguments")
		}
		return func(s *plant.State) Outcome {
			w := f(s, phase(s, p.Phase))
			if w == "" {
				return Outcome{}
			}
			i, ok := p.Word(w)
			if !ok {
				panic("fieldtest: " + p.ID + " has no word " + w)
			}
			return word(i)
		}, nil
	}
}

// observations by the name used in the data.
var observations = map[string]observation{
	"outdoor-fan":         outdoorFan,
	"compressor":          compressor,
	"blower":              blower,
	"contactor":           contactor,
	"suction-ice":         func(s *plant.State, _ plant.PhaseID) string { return yesNo(s.Looks.SuctionLineIce) },
	"breaker":             func(s *plant.State, _ plant.PhaseID) string { return s.Params.Word(breakerState) },
	"disconnect-handle":   func(s *plant.State, _ plant.PhaseID) string { return pick(s.Looks.DisconnectPulled, "pulled", "in") },
	"display":             display,
	"setting":             func(s *plant.State, _ plant.PhaseID) string { return either(s, statSetting, "calls", "does-not-call") },
	"outdoor-coil":        func(s *plant.State, _ plant.PhaseID) string { return look(s.Looks.OutdoorCoil) },
	"indoor-coil":         func(s *plant.State, _ plant.PhaseID) string { return look(s.Looks.IndoorCoil) },
	"filter":              func(s *plant.State, _ plant.PhaseID) string { return look(s.Looks.Filter) },
	"wheel":               wheel,
	"insulation":          above(suctionGain, 2.3, "whole", "missing"),
	"duct":                duct,
	"capacitor-terminals": terminals,
	"fan-spin":            spin(fanFriction),
	"blower-spin":         spin(blowerFriction),
	"fan-blade":           below(bladeGrip, 0.95, "tight", "loose"),
	"fan-nudge":           fanNudge,
	"fan-direction":       fanDirection,
	"pan":                 pan,
	"drain":               drain,
	"condensate-pump":     func(s *plant.State, _ plant.PhaseID) string { return pick(pumpFailed(s), "dead", "pumps") },
	"thermostat-supply":   thermostatSupply,
	"hot-breaker":         hot("outdoor-breaker/pole-1", "outdoor-breaker/pole-2"),
	"control-fuse":        func(s *plant.State, _ plant.PhaseID) string { return pick(s.FuseBlown, "blown", "good") },
	"blower-command":      blowerCommand,
	"compressor-start":    compressorStart,
	"splice-drop":         spliceDrop,
	"hot-contactor":       hot("contactor/pole-1", "contactor/pole-2"),
	"hot-disconnect":      hot("disconnect/leg-1", "disconnect/leg-2", "disconnect/fuse-1", "disconnect/fuse-2"),
	"breaker-load":        breakerLoad,
	"overload":            func(s *plant.State, _ plant.PhaseID) string { return pick(overloadOpen(s), "open", "closed") },
	"bulb-strap":          below(bulbContact, 0.8, "tight", "loose"),
	"bulb-response":       bulbResponse,
	"pumpdown":            pumpdown,
	"leak":                leak,
	"cooled-overload":     cooledOverload,
	"logged-calls":        loggedCalls,
	"pressure-test": func(s *plant.State, _ plant.PhaseID) string {
		return pick(s.Params.At(charge) < leaked, "falls", "holds")
	},
	"inline-breaker": func(s *plant.State, _ plant.PhaseID) string { return pick(s.FuseBlown, "trips", "holds") },
}

var (
	breakerState   = plant.MustParam("outdoor-breaker/state")
	breakerTrip    = plant.MustParam("outdoor-breaker/trip-ratio")
	statSupply     = plant.MustParam("thermostat/supply")
	statSetting    = plant.MustParam("thermostat/setting")
	suctionGain    = plant.MustParam("suction-line/heat-gain")
	wheelGrip      = plant.MustParam("blower-wheel/grip")
	bladeGrip      = plant.MustParam("condenser-fan/blade-grip")
	fanFriction    = plant.MustParam("condenser-fan/bearing-friction")
	blowerFriction = plant.MustParam("blower-motor/bearing-friction")
	supplyDuct     = plant.MustParam("supply-duct/resistance")
	returnDuct     = plant.MustParam("return-duct/resistance")
	returnLeak     = plant.MustParam("return-duct/leakage")
	drainBlockage  = plant.MustParam("condensate-drain/blockage")
	pumpMotor      = plant.MustParam("condensate-pump/motor")
	capCommon      = plant.MustParam("run-capacitor/common-resistance")
	capHermLead    = plant.MustParam("run-capacitor/herm-lead-resistance")
	capFanLead     = plant.MustParam("run-capacitor/fan-lead-resistance")
	moduleCommand  = plant.MustParam("blower-motor/command")
	bulbContact    = plant.MustParam("txv/bulb-contact")
	valveAction    = plant.MustParam("txv/action")
	valveLeak      = plant.MustParam("compressor/valve-leak")
	charge         = plant.MustParam("refrigerant/charge")
)

func pick(cond bool, yes, no string) string {
	if cond {
		return yes
	}
	return no
}

func yesNo(b bool) string { return pick(b, "yes", "no") }

// either returns the first word for the healthy word of p.
func either(s *plant.State, p plant.Param, healthy, other string) string {
	return pick(sound(s, p), healthy, other)
}

// The thresholds of the eye and the hand below are practice: judgement, where
// an unhurried look begins to tell the two apart.

func above(p plant.Param, limit float64, under, over string) observation {
	return func(s *plant.State, _ plant.PhaseID) string { return pick(s.Params.At(p) > limit, over, under) }
}

func below(p plant.Param, limit float64, over, under string) observation {
	return func(s *plant.State, _ plant.PhaseID) string { return pick(s.Params.At(p) < limit, under, over) }
}

func look(l plant.Look) string {
	return [...]string{plant.Clean: "clean", plant.Dirty: "dirty", plant.Blocked: "blocked", plant.Iced: "iced"}[l]
}

// turning says whether a motor turns.
func turning(m plant.MotorState) bool {
	return m == plant.MotorRuns || m == plant.MotorSlow || m == plant.FreeRuns
}

// outdoorFan is what the eye sees of the blade.
func outdoorFan(s *plant.State, ph plant.PhaseID) string {
	m := s.OutdoorFanAt(ph)
	blade := s.Params.At(bladeGrip)
	switch {
	case !turning(m) || blade < 0.1:
		return "stopped"
	case m == plant.MotorSlow || blade < 0.8:
		return "slow"
	}
	return "running"
}

func compressor(s *plant.State, ph plant.PhaseID) string {
	switch m := s.CompressorAt(ph); {
	case turning(m):
		return "running"
	case s.Compressor == plant.MotorHums:
		return "hums-then-stops"
	}
	return "silent"
}

func blower(s *plant.State, ph plant.PhaseID) string {
	return pick(turning(s.BlowerAt(ph)), "running", "stopped")
}

func contactor(s *plant.State, ph plant.PhaseID) string {
	return [...]string{plant.ContactorOpen: "out", plant.ContactorClosed: "in", plant.ContactorChatters: "chattering"}[s.ContactorAt(ph)]
}

func display(s *plant.State, _ plant.PhaseID) string {
	return pick(s.Looks.DisplayLit, "normal", "blank")
}

func thermostatSupply(s *plant.State, _ plant.PhaseID) string {
	switch s.Params.Word(statSupply) {
	case "common":
		return "c-wire"
	case "battery":
		return "battery"
	}
	return "nothing"
}

func wheel(s *plant.State, _ plant.PhaseID) string {
	if s.Params.At(wheelGrip) < 0.95 {
		return "loose"
	}
	return pick(s.Looks.BlowerWheel == plant.Clean, "clean", "dirty")
}

func duct(s *plant.State, _ plant.PhaseID) string {
	switch {
	case s.Params.At(returnLeak) > 0.05:
		return "leaking"
	case max(s.Params.At(supplyDuct), s.Params.At(returnDuct)) > 4.1: // sound ones as installed reach four times their design
		return "crushed"
	}
	return "sound"
}

// terminals: a spade above half an ohm has been hot.
func terminals(s *plant.State, _ plant.PhaseID) string {
	return pick(max(s.Params.At(capCommon), s.Params.At(capHermLead), s.Params.At(capFanLead)) > 0.5, "burnt", "sound")
}

func spin(friction plant.Param) observation {
	return func(s *plant.State, _ plant.PhaseID) string {
		switch f := s.Params.At(friction); {
		case f > 1:
			return "seized"
		case f > 0.2:
			return "stiff"
		}
		return "free"
	}
}

// fanNudge: a motor that hums has torque once it turns, unless drag holds it.
func fanNudge(s *plant.State, ph plant.PhaseID) string {
	switch m := s.OutdoorFanAt(ph); {
	case turning(m):
		return "runs-by-itself"
	case m == plant.MotorHums && s.Params.At(fanFriction) < 0.8:
		return "runs-on"
	}
	return "stays"
}

func fanDirection(s *plant.State, ph plant.PhaseID) string {
	switch {
	case outdoorFan(s, ph) == "stopped":
		return "none"
	case s.Looks.FanBackward:
		return "backward"
	}
	return "as-it-should"
}

func pumpFailed(s *plant.State) bool {
	return s.Plant().Has(plant.CondensatePump) && !sound(s, pumpMotor)
}

func pan(s *plant.State, _ plant.PhaseID) string {
	switch b := s.Params.At(drainBlockage); {
	case s.Looks.PanFull:
		return "full"
	case b > 0.45:
		return "water"
	}
	return "dry"
}

func drain(s *plant.State, _ plant.PhaseID) string {
	switch b := s.Params.At(drainBlockage); {
	case b >= 0.9 || pumpFailed(s):
		return "stopped"
	case b > 0.45:
		return "slow"
	}
	return "flows"
}

func blowerCommand(s *plant.State, ph plant.PhaseID) string {
	control := volts(s, ph, plant.BoardR, plant.BoardC)
	return pick(control.Value > 15 && sound(s, moduleCommand), "present", "absent")
}

func compressorStart(s *plant.State, _ plant.PhaseID) string {
	switch {
	case turning(s.Compressor):
		return "starts"
	case s.Compressor == plant.MotorHums:
		return "stalls"
	}
	return ""
}

// spliceDrop: a volt lost in the control cable is a bad splice.
func spliceDrop(s *plant.State, ph plant.PhaseID) string {
	for _, id := range [...]string{"outdoor-cable/y", "outdoor-cable/c"} {
		if o := across(s, ph, id); o.Kind == IsValue && o.Value > 1.5 {
			return "drops"
		}
	}
	return "steady"
}

// hot: some watts in one contact or jaw show as a hot spot.
func hot(devices ...string) observation {
	return func(s *plant.State, ph plant.PhaseID) string {
		running := false
		for _, id := range devices {
			v, a := across(s, ph, id), amps(s, ph, id)
			if v.Kind == IsValue && v.Value*a > 4 { // W
				return "hot-spot"
			}
			running = running || a > 1
		}
		return pick(running, "even", "")
	}
}

func breakerLoad(s *plant.State, _ plant.PhaseID) string {
	switch {
	case s.Trip == plant.BreakerTrip:
		return pick(s.Params.At(breakerTrip) < 0.8, "trips-below-marking", "trips-above-marking")
	case turning(s.Compressor):
		return "holds"
	}
	return ""
}

func bulbResponse(s *plant.State, ph plant.PhaseID) string {
	if !s.Pumping() || s.CycleAt(ph) == &s.Standing {
		return ""
	}
	return either(s, valveAction, "rises", "no-response")
}

// muchPressure is the gauge pressure at rest from which there is something to
// pump down, and to find at a leak.
const muchPressure = 70e3 // Pa

// pumpdown says how the suction falls while the compressor turns.
func pumpdown(s *plant.State, ph plant.PhaseID) string {
	switch leak := s.Params.At(valveLeak); {
	case !turning(s.CompressorAt(ph)) || s.Standing.SuctionPressure-s.Ambient < muchPressure:
		return ""
	case !s.Pumping() || leak > 0.5:
		return "stays"
	case leak > 0.12:
		return "falls-slowly"
	}
	return "falls-fast"
}

// leaked is the share of the charge below which there must be a leak: further
// down than any tolerance of filling.
const leaked = 0.903 // practice

// leak says whether a detector finds a leak, while there is pressure behind it.
func leak(s *plant.State, _ plant.PhaseID) string {
	if s.Standing.SuctionPressure-s.Ambient < muchPressure {
		return ""
	}
	return pick(s.Params.At(charge) < leaked, "found", "none-found")
}

// opened is the resistance from which a winding reads open, ohm.
// practice: a winding has ohms, an open one the meter's end.
const opened = 1e6

// cooledOverload says whether an open C to R closes when the compressor has
// cooled; nothing where it is not open.
func cooledOverload(s *plant.State, _ plant.PhaseID) string {
	r, ok := s.Ohms(plant.OhmCompressorCR)
	if !ok || float64(r) < opened {
		return ""
	}
	return pick(overloadOpen(s), "closes", "stays-open")
}

// loggedCalls says whether the compressor ran through its calls.
func loggedCalls(s *plant.State, ph plant.PhaseID) string {
	return pick(compressor(s, ph) == "running", "steady", "drops-out")
}
