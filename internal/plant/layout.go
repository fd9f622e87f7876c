package plant

// layout lists the devices of a completed nameplate and the ladders they form.
func layout(n *Nameplate) Wiring {
	var w Wiring
	w.branchCircuit(n)
	w.outdoorUnit(n)
	w.indoor = len(w.Devices)
	w.indoorUnit(n)
	w.thermostat(n)
	w.coolingCall(n)
	w.ladders(n)
	w.testPoints()
	return w
}

func (w *Wiring) add(id string, kind Kind, label string, from, to Node) {
	w.Devices = append(w.Devices, Device{ID: id, Kind: kind, Label: label, From: from, To: to})
}

func (w *Wiring) motor(id, label string, run, common, start Node) {
	w.Devices = append(w.Devices, Device{ID: id, Kind: KindMotor, Label: label, From: run, To: common, Third: start})
}

// branchCircuit runs from the panel to the contactor.
func (w *Wiring) branchCircuit(n *Nameplate) {
	w.add("outdoor-breaker/pole-1", KindBreaker, "Breaker, leg 1", Panel1, BreakerOut1)
	w.add("outdoor-breaker/pole-2", KindBreaker, "Breaker, leg 2", Panel2, BreakerOut2)
	w.add("line-conductors/leg-1", KindConductor, "Branch conductor, leg 1", BreakerOut1, DiscIn1)
	w.add("line-conductors/leg-2", KindConductor, "Branch conductor, leg 2", BreakerOut2, DiscIn2)
	if !n.Has(FusedDisconnect) {
		w.add("disconnect/leg-1", KindDisconnect, "Disconnect, leg 1", DiscIn1, L1)
		w.add("disconnect/leg-2", KindDisconnect, "Disconnect, leg 2", DiscIn2, L2)
	} else {
		w.add("disconnect/leg-1", KindDisconnect, "Disconnect, leg 1", DiscIn1, DiscOut1)
		w.add("disconnect/leg-2", KindDisconnect, "Disconnect, leg 2", DiscIn2, DiscOut2)
		w.add("disconnect/fuse-1", KindFuse, "Fuse, leg 1", DiscOut1, L1)
		w.add("disconnect/fuse-2", KindFuse, "Fuse, leg 2", DiscOut2, L2)
	}
	w.add("line-conductors/ground-fault", KindLeak, "Leg 1 to cabinet", L1, Ground)
}

// outdoorUnit hangs compressor and fan between T1 and T2, both at once.
func (w *Wiring) outdoorUnit(n *Nameplate) {
	w.add("contactor/pole-1", KindContact, "Contactor L1-T1", L1, T1)
	w.add("contactor/pole-2", KindContact, "Contactor L2-T2", L2, T2)
	w.add("compressor/common-terminal", KindConductor, "Compressor lead C", T1, CompC)
	w.add("compressor/overload", KindOverload, "Compressor overload", CompC, CompIn)
	w.add("compressor/run-terminal", KindConductor, "Compressor lead R", T2, CompR)
	w.add("compressor/start-terminal", KindConductor, "Compressor lead S", CapHerm, CompS)
	w.motor("compressor/motor", "Compressor", CompR, CompIn, CompS)
	w.add("compressor/ground", KindLeak, "Winding to shell", CompR, Ground)
	w.add("condenser-fan/protector", KindOverload, "Fan motor protector", T1, FanIn)
	w.motor("condenser-fan/motor", "Outdoor fan", T2, FanIn, FanAux)
	w.add("condenser-fan/ground", KindLeak, "Fan winding to frame", T2, Ground)
	w.add("run-capacitor/common", KindConductor, "Capacitor lead C", T2, CapC)
	w.add("run-capacitor/herm", KindCapacitor, "Run capacitor HERM", CapHerm, CapC)
	w.add("run-capacitor/fan", KindCapacitor, "Run capacitor FAN", CapFan, CapC)
	w.add("run-capacitor/fan-lead", KindConductor, "Capacitor lead FAN", CapFan, FanAux)
	w.add("run-capacitor/herm-short", KindLeak, "HERM section short", CapHerm, CapC)
	w.add("run-capacitor/fan-short", KindLeak, "FAN section short", CapFan, CapC)
	w.add("run-capacitor/case", KindLeak, "Capacitor to can", CapC, Ground)
	if n.Has(StartAssist) {
		w.add("start-assist/capacitor", KindCapacitor, "Start capacitor", CapHerm, StartCap)
		w.add("start-assist/relay", KindContact, "Start relay", StartCap, CapC)
	}
	if n.Has(CrankcaseHeater) {
		to := T1
		if n.Has(TwoPoleContactor) {
			to = L2
		}
		w.add("crankcase-heater/element", KindHeater, "Crankcase heater", L1, to)
	}
}

func (w *Wiring) indoorUnit(n *Nameplate) {
	w.add("indoor-breaker/pole", KindBreaker, "Indoor breaker or switch", IndoorHot, IndoorDoor)
	w.add("door-switch/contact", KindSwitch, "Blower door switch", IndoorDoor, IndoorLine)
	w.Devices = append(w.Devices, Device{ID: "transformer/primary", Kind: KindTransformer, Label: "Transformer",
		From: IndoorLine, To: IndoorBack, Third: Secondary})
	w.add("transformer/bond", KindConductor, "Common to cabinet", BoardC, Ground)
	w.add("transformer/extra-load", KindLoad, "Accessories", BoardR, BoardC)
	w.add("control-fuse/fuse", KindFuse, "Control fuse", Secondary, BoardR)
	w.add("air-handler-board/blower-relay", KindContact, "Blower relay", IndoorLine, BlowerTap)
	w.add("air-handler-board/heat-relay", KindContact, "Blower relay, heat", IndoorLine, BlowerTap)
	if n.Has(PSCBlower) {
		w.add("blower-motor/protector", KindOverload, "Blower motor protector", BlowerTap, BlowerIn)
		w.motor("blower-motor/motor", "Blower", IndoorBack, BlowerIn, BlowerAux)
		w.add("blower-capacitor/capacitor", KindCapacitor, "Blower capacitor", BlowerAux, IndoorBack)
	} else {
		w.add("blower-motor/module", KindModule, "Blower", BlowerTap, IndoorBack)
	}
	w.add("air-handler-board/blower-coil", KindCoil, "Blower relay coil", BoardG, BoardC)
	w.add("air-handler-board/heat-coil", KindCoil, "Heat relay coil", BoardW, BoardC)
}

func (w *Wiring) thermostat(n *Nameplate) {
	from := BoardR
	if n.Float == FloatBreaksR {
		w.add("float-switch/contact", KindSwitch, "Float switch", BoardR, FloatR)
		from = FloatR
	}
	w.add("thermostat-cable/r", KindConductor, "Cable R", from, StatR)
	w.add("thermostat/rc-rh-jumper", KindConductor, "Jumper RH-RC", StatR, StatRC)
	w.add("thermostat/r-y", KindStatContact, "Thermostat R-Y", StatRC, StatY)
	w.add("thermostat/r-g", KindStatContact, "Thermostat R-G", StatRC, StatG)
	w.add("thermostat/r-w", KindStatContact, "Thermostat R-W", StatR, StatW)
	w.add("thermostat/display", KindLoad, "Thermostat electronics", StatR, StatC)
	w.add("thermostat-cable/c", KindConductor, "Cable C", StatC, BoardC)
	w.add("thermostat-cable/y", KindConductor, "Cable Y", StatY, BoardY)
	w.add("thermostat-cable/g", KindConductor, "Cable G", StatG, BoardG)
	w.add("thermostat-cable/w", KindConductor, "Cable W", StatW, BoardW)
	w.add("thermostat-cable/r-c", KindLeak, "R to C in the cable", from, BoardC)
	w.add("thermostat-cable/y-c", KindLeak, "Y to C in the cable", BoardY, BoardC)
	w.add("thermostat-cable/g-c", KindLeak, "G to C in the cable", BoardG, BoardC)
}

// coolingCall runs from Y on the board through the safeties to the coil.
func (w *Wiring) coolingCall(n *Nameplate) {
	w.add("air-handler-board/y", KindContact, "Board Y to Y out", BoardY, BoardYOut)
	at := BoardYOut
	if n.Float == FloatBreaksY {
		w.add("float-switch/contact", KindSwitch, "Float switch", at, FloatY)
		at = FloatY
	}
	w.add("outdoor-cable/y", KindConductor, "Cable Y to outdoor unit", at, OutY)
	w.add("outdoor-cable/y-c", KindLeak, "Y to C in the outdoor cable", OutY, OutC)
	type link struct {
		needs  Equipment
		id     string
		kind   Kind
		label  string
		behind Node
	}
	chain := []link{
		{TimeDelay, "time-delay/contact", KindTimer, "Time delay", AfterTD},
		{OutdoorBoard, "outdoor-board/contact", KindContact, "Outdoor board", AfterOB},
		{LowPressureSwitch, "low-pressure-switch/contact", KindPressure, "Low-pressure switch", AfterLPS},
		{HighPressureSwitch, "high-pressure-switch/contact", KindPressure, "High-pressure switch", Coil1},
	}
	at = OutY
	for _, l := range chain {
		if n.Has(l.needs) {
			w.add(l.id, l.kind, l.label, at, l.behind)
			at = l.behind
		}
	}
	if at != Coil1 {
		w.add("contactor/coil-lead", KindConductor, "Lead to coil", at, Coil1)
	}
	w.add("contactor/coil", KindCoil, "Contactor coil", Coil1, Coil2)
	w.add("contactor/coil-return", KindConductor, "Lead from coil", Coil2, OutC)
	w.add("outdoor-cable/c", KindConductor, "Cable C to outdoor unit", OutC, BoardC)
}

// ladders arranges the devices for drawing. Only devices that exist are listed.
func (w *Wiring) ladders(n *Nameplate) {
	have := map[string]bool{}
	for _, d := range w.Devices {
		have[d.ID] = true
	}
	rung := func(label string, ids ...string) Rung {
		r := Rung{Label: label}
		for _, id := range ids {
			if have[id] {
				r.Steps = append(r.Steps, id)
			}
		}
		return r
	}
	line := Ladder{Name: "line", Left: Rail{Panel1, "leg 1"}, Right: Rail{Panel2, "leg 2"}}
	feed := []string{"outdoor-breaker/pole-1", "line-conductors/leg-1", "disconnect/leg-1", "disconnect/fuse-1", "contactor/pole-1"}
	back := []string{"contactor/pole-2", "disconnect/fuse-2", "disconnect/leg-2", "line-conductors/leg-2", "outdoor-breaker/pole-2"}
	through := func(ids ...string) []string {
		return append(append(append([]string{}, feed...), ids...), back...)
	}
	line.Rungs = []Rung{
		rung("compressor", through("compressor/common-terminal", "compressor/overload", "compressor/motor", "compressor/run-terminal")...),
		rung("outdoor fan", through("condenser-fan/protector", "condenser-fan/motor")...),
		rung("compressor start winding", "compressor/start-terminal", "run-capacitor/herm", "run-capacitor/common"),
		rung("fan start winding", "run-capacitor/fan-lead", "run-capacitor/fan", "run-capacitor/common"),
	}
	if n.Has(StartAssist) {
		line.Rungs = append(line.Rungs, rung("start assist", "start-assist/capacitor", "start-assist/relay"))
	}
	if n.Has(CrankcaseHeater) {
		line.Rungs = append(line.Rungs, rung("crankcase heater", "crankcase-heater/element"))
	}
	indoor := Ladder{Name: "indoor", Left: Rail{IndoorHot, "hot"}, Right: Rail{IndoorBack, "neutral"}}
	if n.BlowerVoltage > 150 {
		indoor.Left.Label, indoor.Right.Label = "leg 1", "leg 2"
	}
	indoor.Rungs = []Rung{
		rung("transformer", "indoor-breaker/pole", "door-switch/contact", "transformer/primary"),
		rung("blower", "air-handler-board/blower-relay", "blower-motor/protector", "blower-motor/motor", "blower-motor/module"),
	}
	control := Ladder{Name: "control", Low: true, Left: Rail{Secondary, "R"}, Right: Rail{BoardC, "C"}}
	toStat := []string{"control-fuse/fuse"}
	if n.Float == FloatBreaksR {
		toStat = append(toStat, "float-switch/contact")
	}
	toStat = append(toStat, "thermostat-cable/r")
	cool := append(append([]string{}, toStat...), "thermostat/rc-rh-jumper", "thermostat/r-y", "thermostat-cable/y", "air-handler-board/y")
	if n.Float == FloatBreaksY {
		cool = append(cool, "float-switch/contact")
	}
	cool = append(cool, "outdoor-cable/y", "time-delay/contact", "outdoor-board/contact", "low-pressure-switch/contact",
		"high-pressure-switch/contact", "contactor/coil-lead", "contactor/coil", "contactor/coil-return", "outdoor-cable/c")
	control.Rungs = []Rung{
		rung("cooling", cool...),
		rung("fan", "thermostat/r-g", "thermostat-cable/g", "air-handler-board/blower-coil"),
		rung("heat", "thermostat/r-w", "thermostat-cable/w", "air-handler-board/heat-coil"),
		rung("thermostat", "thermostat/display", "thermostat-cable/c"),
	}
	w.Ladders = []Ladder{line, indoor, control}
}

// testPoints lists the accessible nodes that exist.
func (w *Wiring) testPoints() {
	have := map[Node]bool{}
	for _, d := range w.Devices {
		have[d.From], have[d.To], have[d.Third] = true, true, true
	}
	for _, t := range []TestPoint{
		{Panel1, "breaker, leg 1", "panel", true}, {Panel2, "breaker, leg 2", "panel", true},
		{DiscIn1, "line side, leg 1", "disconnect", true}, {DiscIn2, "line side, leg 2", "disconnect", true},
		{DiscOut1, "line end of fuse 1", "disconnect", true}, {DiscOut2, "line end of fuse 2", "disconnect", true},
		{L1, "L1", "contactor", true}, {L2, "L2", "contactor", true},
		{T1, "T1", "contactor", true}, {T2, "T2", "contactor", true},
		{Coil1, "coil, Y side", "contactor", false}, {Coil2, "coil, C side", "contactor", false},
		{CapC, "C", "capacitor", true}, {CapHerm, "HERM", "capacitor", true}, {CapFan, "FAN", "capacitor", true},
		{CompC, "C", "compressor", true}, {CompR, "R", "compressor", true}, {CompS, "S", "compressor", true},
		{IndoorDoor, "line in", "air handler", true}, {IndoorLine, "behind the door switch", "air handler", true},
		{IndoorBack, "neutral or leg 2", "air handler", true}, {BlowerTap, "speed tap", "blower", true},
		{Secondary, "secondary", "transformer", false},
		{BoardR, "R", "board", false}, {BoardC, "C", "board", false}, {BoardY, "Y", "board", false},
		{BoardYOut, "Y out", "board", false}, {BoardG, "G", "board", false}, {BoardW, "W", "board", false},
		{FloatR, "behind the float switch", "air handler", false}, {FloatY, "behind the float switch", "air handler", false},
		{StatR, "RH", "thermostat", false}, {StatRC, "RC", "thermostat", false}, {StatY, "Y", "thermostat", false},
		{StatG, "G", "thermostat", false}, {StatW, "W", "thermostat", false}, {StatC, "C", "thermostat", false},
		{OutY, "Y", "outdoor unit", false}, {OutC, "C", "outdoor unit", false},
		{AfterTD, "behind the time delay", "outdoor unit", false}, {AfterOB, "behind the board", "outdoor unit", false},
		{AfterLPS, "behind the low-pressure switch", "outdoor unit", false}, {Ground, "cabinet", "ground", false},
	} {
		if have[t.Node] {
			w.TestPoints = append(w.TestPoints, t)
		}
	}
}
