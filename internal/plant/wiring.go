package plant

// Node is a point of the wiring where a meter lead can touch, or would if the
// cover were off. G is the cabinet and the grounded conductor.
type Node string

// The nodes. Those of equipment that is not fitted are absent from a plant.
const (
	Ground Node = "G"

	// branch circuit and outdoor unit
	Panel1      Node = "panel-1" // at the breaker, leg 1
	Panel2      Node = "panel-2"
	BreakerOut1 Node = "B1"
	BreakerOut2 Node = "B2"
	DiscIn1     Node = "D1" // disconnect, line side
	DiscIn2     Node = "D2"
	DiscOut1    Node = "F1" // disconnect, load side of the blades, before the fuses
	DiscOut2    Node = "F2"
	L1          Node = "L1" // contactor, line side
	L2          Node = "L2"
	T1          Node = "T1" // contactor, load side
	T2          Node = "T2"
	CapC        Node = "cap-C" // run capacitor terminals
	CapHerm     Node = "HERM"
	CapFan      Node = "FAN"
	StartCap    Node = "start-cap" // between start capacitor and its relay
	CompC       Node = "comp-C"    // compressor terminals
	CompR       Node = "comp-R"
	CompS       Node = "comp-S"
	CompIn      Node = "comp-in" // behind the internal overload, not accessible
	FanIn       Node = "fan-in"  // behind the fan motor's protector, not accessible
	FanAux      Node = "fan-S"   // auxiliary lead of the fan motor

	// indoor branch circuit
	IndoorHot  Node = "H"  // at the service switch
	IndoorDoor Node = "H1" // behind breaker or switch
	IndoorLine Node = "H2" // behind the door switch
	IndoorBack Node = "N"  // neutral, or the other leg of a 240 V unit
	BlowerTap  Node = "blower-tap"
	BlowerIn   Node = "blower-in"  // behind the motor's protector, not accessible
	BlowerAux  Node = "blower-aux" // capacitor lead

	// control circuit
	Secondary Node = "SEC" // transformer secondary, hot, before the fuse
	BoardR    Node = "R"   // air handler board
	BoardC    Node = "C"
	BoardY    Node = "Y"
	BoardYOut Node = "Y-out"
	BoardG    Node = "board-G"
	BoardW    Node = "W"
	FloatR    Node = "R-float" // behind a float switch in the R conductor
	FloatY    Node = "Y-float" // behind a float switch in the Y conductor
	StatR     Node = "stat-RH"
	StatRC    Node = "stat-RC" // cooling side of the jumper
	StatY     Node = "stat-Y"
	StatG     Node = "stat-G"
	StatW     Node = "stat-W"
	StatC     Node = "stat-C"
	OutY      Node = "out-Y" // control terminals of the outdoor unit
	OutC      Node = "out-C"
	AfterTD   Node = "after-delay"
	AfterOB   Node = "after-board"
	AfterLPS  Node = "after-LPS"
	Coil1     Node = "coil-1" // contactor coil terminals
	Coil2     Node = "coil-2"
)

// Kind is what a device is, and so how it is drawn.
type Kind string

// The kinds of device.
const (
	KindBreaker     Kind = "breaker"
	KindFuse        Kind = "fuse"
	KindDisconnect  Kind = "disconnect"
	KindConductor   Kind = "conductor"
	KindContact     Kind = "contact"  // of a contactor or relay
	KindSwitch      Kind = "switch"   // float, door
	KindPressure    Kind = "pressure" // pressure switch
	KindTimer       Kind = "timer"
	KindStatContact Kind = "thermostat-contact"
	KindOverload    Kind = "overload"
	KindCoil        Kind = "coil"
	KindMotor       Kind = "motor"
	KindModule      Kind = "motor-module" // electronically commutated
	KindCapacitor   Kind = "capacitor"
	KindHeater      Kind = "heater"
	KindTransformer Kind = "transformer"
	KindLoad        Kind = "load" // electronics, accessories
	KindLeak        Kind = "leak" // insulation: drawn only when it leaks
)

// Device is one element of the wiring.
type Device struct {
	ID    string // "contactor/pole-1"; stable
	Kind  Kind
	Label string // as the trade says it: "Contactor L1-T1"
	From  Node
	To    Node
	Third Node // auxiliary lead of a motor; empty otherwise
}

// Rail is one of the two uprights of a ladder.
type Rail struct {
	Node  Node
	Label string
}

// Rung is one line of a ladder, from the left rail to the right. Steps are the
// ids of its devices in order.
type Rung struct {
	Label string
	Steps []string
}

// Ladder is one drawing: two rails and the rungs between them.
type Ladder struct {
	Name        string // "line", "indoor", "control"
	Low         bool   // 24 V: live is what differs from the right rail
	Left, Right Rail
	Rungs       []Rung
}

// TestPoint is a node that a mechanic can reach.
type TestPoint struct {
	Node  Node
	Label string // "L1", "R on the board"
	Where string // "contactor", "disconnect", "board", "thermostat", "capacitor", "compressor", "blower"
	Line  bool   // line voltage: cover, gloves, one hand
}

// Wiring is the structure of a plant's electrical side, for drawing.
type Wiring struct {
	Devices    []Device
	Ladders    []Ladder
	TestPoints []TestPoint

	indoor int // first device of the indoor networks; those before it are at line voltage outdoors
}

// Device returns the device with the given id.
func (w *Wiring) Device(id string) (Device, bool) {
	for _, d := range w.Devices {
		if d.ID == id {
			return d, true
		}
	}
	return Device{}, false
}
