package system

// Point is a place in the wiring where a lead of a meter can touch.
type Point struct {
	ID    string
	Label string // "W on the board"
	Where string // "board", "thermostat": the place to stand
	Line  bool   // line voltage: cover, gloves, one hand
	Bare  bool   // not reachable: inside a device
}

// Ground is the cabinet and the grounded conductor: the reference.
const Ground = "ground"

// Kind is what a device is, and so how it is drawn.
type Kind string

// The kinds of device.
const (
	Source      Kind = "source"
	Conductor   Kind = "conductor"
	Switch      Kind = "switch"     // moved by hand, by water, by a door
	Thermostat  Kind = "thermostat" // a contact of the thermostat, closed by a call
	Limit       Kind = "limit"      // opened by a quantity of the heat side
	Fuse        Kind = "fuse"
	Breaker     Kind = "breaker"
	Overload    Kind = "overload" // opens when the motor behind it is hot, closes when it has cooled
	Coil        Kind = "coil"
	Contact     Kind = "contact" // of a coil or a board
	Load        Kind = "load"
	Motor       Kind = "motor"
	Capacitor   Kind = "capacitor"
	Transformer Kind = "transformer"
)

// Device is one element of the wiring.
type Device struct {
	ID     string
	Kind   Kind
	Label  string // as the trade says it: "Pressure switch"
	Points []string
	Values map[string]string // as written: ohms=0.01, pull-in=18
	line   int               // in the file, for errors
}

// Board is electronics that work through a program.
type Board struct {
	ID     string
	Label  string
	Values map[string]string
	Inputs []Input
	Modes  []Mode
	line   int
}

// Input is what a board looks at: a voltage between two points, or something
// of the heat side.
type Input struct {
	Name  string
	Told  string // a condition: "flame", "water>=60"; empty for a voltage
	A, B  string
	Least float64 // V
}

// Mode is a state of a board.
type Mode struct {
	Name  string
	Label string   // what it does, in words: "purges"
	On    []string // contacts, by device
	Next  []Way
	line  int
}

// Way leads out of a mode.
type Way struct {
	To    string
	After float64 // s
	If    []Term
}

// Term is an input that must be, or must not be.
type Term struct {
	Input string
	Not   bool
}

// Call is what a thermostat asks for.
type Call struct {
	ID, Label string
	Demand    string    // "cool" or "heat", where the id does not say it
	Closes    []string  // devices
	After     []float64 // s from the beginning of the call, of each of Closes
}

// Quantity is something of the heat side that lags behind what drives it: it
// goes to Rest plus the Adds whose conditions hold, with the time constant Lag.
type Quantity struct {
	Name, Label, Unit string
	Rest              float64
	RestOf            string  // the value that says it, if one does
	Lag               float64 // s
	Adds              []Add
}

// Add moves the target of a quantity while all its conditions hold, by Value,
// or by Value times that which Of names, for every watt of By if there is one.
type Add struct {
	Value float64
	Of    string // value
	If    []string
	By    string // load
}

// Flag is a yes or no of the heat side: true once Lights holds, and then as
// long as Holds does.
type Flag struct {
	Name, Label   string
	Lights, Holds []string
	Fixed         string // "never" or "always", by an edit
}

// Ladder is one drawing: two rails and the rungs between them.
type Ladder struct {
	Name        string // "24 V"
	Left, Right string // points
	Rungs       []Rung
}

// Rung is one line of a ladder; Devices in order from the left.
type Rung struct {
	Label   string
	Devices []string
}

// Description is a system as its file says it.
type Description struct {
	ID, Name   string
	Texts      map[string]string // name.es and the like
	Points     []Point
	Devices    []Device
	Boards     []Board
	Calls      []Call
	Values     []Value
	Quantities []Quantity
	Flags      []Flag
	Ladders    []Ladder
	Sequence   []string            // the written sequence of the first call: see Play.Milestones
	Sequences  map[string][]string // of other calls
	Faults     []Fault

	heritage []heritage
}

// Point returns a point.
func (d *Description) Point(id string) (Point, bool) {
	for _, p := range d.Points {
		if p.ID == id {
			return p, true
		}
	}
	return Point{}, false
}

// device returns the place of a device in the list, or -1.
func (d *Description) device(id string) int {
	for i := range d.Devices {
		if d.Devices[i].ID == id {
			return i
		}
	}
	return -1
}

// Device returns a device.
func (d *Description) Device(id string) (Device, bool) {
	if i := d.device(id); i >= 0 {
		return d.Devices[i], true
	}
	return Device{}, false
}

// Condition is something that holds or does not at a moment of a play of one
// description, with any edits.
type Condition struct{ c condition }

// Condition reads a condition of the language of descriptions; an error for one
// that names nothing of this description.
func (d *Description) Condition(text string) (Condition, error) {
	c, err := d.condition(text)
	return Condition{c}, err
}

// commanded tells whether a call can close the device: a contact of the
// thermostat, or test pins that a hand bridges.
func (v *Device) commanded() bool {
	return v.Kind == Thermostat || v.Kind == Switch && v.Values["normal"] == "open"
}

// SequenceOf returns the written sequence of a call: its own, or that of the
// first call.
func (d *Description) SequenceOf(call string) []string {
	if own, ok := d.Sequences[call]; ok {
		return own
	}
	return d.Sequence
}

// clone returns a copy whose devices, boards and heat side may be edited.
func (d *Description) clone() *Description {
	c := *d
	c.Devices = append([]Device(nil), d.Devices...)
	for i := range c.Devices {
		c.Devices[i].Points = append([]string(nil), d.Devices[i].Points...)
		values := make(map[string]string, len(d.Devices[i].Values))
		for k, v := range d.Devices[i].Values {
			values[k] = v
		}
		c.Devices[i].Values = values
	}
	c.Calls = append([]Call(nil), d.Calls...)
	c.Boards = append([]Board(nil), d.Boards...)
	for i := range c.Boards {
		values := make(map[string]string, len(d.Boards[i].Values))
		for k, v := range d.Boards[i].Values {
			values[k] = v
		}
		c.Boards[i].Values = values
	}
	c.Values = append([]Value(nil), d.Values...)
	c.Quantities = append([]Quantity(nil), d.Quantities...)
	c.Flags = append([]Flag(nil), d.Flags...)
	return &c
}
