package relay

import "time"

// Step is one event in a sequence of operation and what followed from it at
// once.
type Step struct {
	At      time.Duration // since Reset
	Cause   Cause
	Changes []Change // in order; valid until the next Reset
}

// Cause is what began a step: a device, and the way it acted.
type Cause struct {
	By     Trigger
	Device Device
}

// Trigger is a way to begin a step.
type Trigger uint8

const (
	PowerUp    Trigger = iota // the voltages at Reset
	Command                   // Machine.Set
	Sensed                    // a pressure or temperature, or a manual reset
	Magnet                    // a coil's armature moved
	Timer                     // a delay of a coil's contacts ran out
	Supplied                  // electronics lost or regained their supply
	Overheated                // a fuse melted, a breaker or overload opened
	Cooled                    // an overload closed again
	RunUp                     // a motor's starting time was over
	Program                   // a controller went to another mode
)

func (t Trigger) String() string {
	return [...]string{"power-up", "command", "sensed", "magnet", "timer", "supplied", "overheated", "cooled", "run-up", "program"}[t]
}

// Change is one thing that a step changed.
type Change struct {
	Event  Event
	Device Device
	Place  Place   // of the contact, for Closed and Opened
	Value  float64 // V for Energised; A, the current in C, for Started, Running and Stalled; a mode or an input of a controller; 0 otherwise
}

// Event is a kind of change.
type Event uint8

const (
	Closed     Event = iota // a contact
	Opened                  // a contact
	Energised               // a coil, motor or load has voltage
	Dead                    // it has lost it
	PulledIn                // an armature
	DroppedOut              // an armature
	Chattering              // an armature that cannot hold
	Started                 // a motor draws its starting current
	Running                 // a motor turns at its balance of torque
	Stalled                 // a motor is energised and does not turn
	Stopped                 // a motor
	Blown                   // a fuse or breaker
	Tripped                 // an overload
	Restored                // an overload
	Entered                 // a controller entered the mode Value
	Woke                    // a controller got its supply
	Died                    // a controller lost it
	Seen                    // a controller was told that its input Value is true
	Unseen                  // a controller was told that its input Value is false
)

func (e Event) String() string {
	return [...]string{"closed", "opened", "energised", "dead", "pulled-in", "dropped-out", "chattering",
		"started", "running", "stalled", "stopped", "blown", "tripped", "restored", "entered", "woke", "died", "seen", "unseen"}[e]
}

// trace collects steps without allocating once its buffers have grown.
type trace struct {
	steps   []Step
	changes []Change
	first   int // change of the open step
}

func (t *trace) reset() { t.steps, t.changes = t.steps[:0], t.changes[:0] }

func (t *trace) begin(at time.Duration, c Cause) {
	t.first = len(t.changes)
	t.steps = append(t.steps, Step{At: at, Cause: c})
}

func (t *trace) note(c Change) { t.changes = append(t.changes, c) }

// end closes the open step; one that changed nothing is dropped.
func (t *trace) end() {
	if len(t.changes) == t.first {
		t.steps = t.steps[:len(t.steps)-1]
		return
	}
	t.steps[len(t.steps)-1].Changes = t.changes[t.first:len(t.changes):len(t.changes)]
}
