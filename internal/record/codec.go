package record

import (
	"encoding/json"
	"errors"
	"fmt"
	"maps"
	"reflect"
	"slices"

	"rung/internal/journal"
)

// Event is one of the structs of this package, by value, or Unknown.
type Event any

// Unknown is an entry that this program does not know: a kind or a version of
// a later one. It is kept and passed on, and shown as what it is.
type Unknown struct {
	Kind    string
	Version int
}

// ErrPayload says that the payload of a known kind cannot be read.
var ErrPayload = errors.New("entry cannot be read")

// version is one version of a kind: how its payload becomes the struct in use.
type version func(payload []byte) (Event, error)

// kinds holds the versions of every kind, the first at index 0. The last is
// the one that Encode writes.
var kinds = map[string][]version{}

// kindOf holds the kind of every event type.
var kindOf = map[reflect.Type]string{}

// register adds a kind with all its versions. Earlier versions decode their own
// frozen struct and lift it to E; the last one decodes E.
func register[E Event](kind string, earlier ...version) struct{} {
	return registerAs[E](kind, func(payload []byte) (Event, error) { return unmarshal[E](payload) }, earlier...)
}

// registerAs is register with another way to read the last version.
func registerAs[E Event](kind string, last version, earlier ...version) struct{} {
	kinds[kind] = append(earlier, last)
	kindOf[reflect.TypeFor[E]()] = kind
	return struct{}{}
}

func unmarshal[E Event](payload []byte) (Event, error) {
	var e E
	if err := json.Unmarshal(payload, &e); err != nil {
		return nil, err
	}
	return e, nil
}

var (
	_ = register[PropertyAdded]("property-added")
	_ = register[SystemAdded]("system-added")
	_ = register[UnitAdded]("unit-added")
	_ = register[LinkFound]("link-found")
	_ = register[NameplateRecorded]("nameplate-recorded")
	_ = register[VisitOpened]("visit-opened")
	_ = register[SurroundingsRecorded]("surroundings-recorded")
	_ = register[HazardNoted]("hazard-noted")
	_ = registerAs[ReadingTaken]("reading-taken", readReading, readReading) // version 1 has no role
	_ = register[EntryWithdrawn]("entry-withdrawn")
	_ = register[CheckRefused]("check-refused")
	_ = register[AdviceShown]("advice-shown")
	_ = register[CauseAccepted]("cause-accepted")
	_ = register[PartReplaced]("part-replaced")
	_ = register[RepairDone]("repair-done")
	_ = register[ProofTaken]("proof-taken")
	_ = register[ChargeNotJudged]("charge-not-judged")
	_ = register[TaskAdded]("task-added")
	_ = register[TaskDone]("task-done")
	_ = register[RecommendationMade]("recommendation-made")
	_ = register[NoteLeft]("note-left")
	_ = register[VisitClosed]("visit-closed")
	_ = register[StatementSettled]("statement-settled")
	_ = register[ReportShared]("report-shared")
	_ = register[ClosuresCounted]("closures-counted", unmarshal[ClosuresCounted])     // version 1 has no totals
	_ = register[LearningSetAside]("learning-set-aside", unmarshal[LearningSetAside]) // version 1 has no topic
	_ = register[PhotoTaken]("photo-taken")
	_ = register[PhotoMarked]("photo-marked")
)

// Encode puts kind, version and payload of event into e. It panics if event is
// no event of this package: a mistake of the caller's program.
func Encode(e journal.Envelope, event Event) journal.Envelope {
	kind, ok := kindOf[reflect.TypeOf(event)]
	if !ok {
		panic(fmt.Sprintf("record: %T is not an event", event))
	}
	payload, err := json.Marshal(event)
	if err != nil {
		panic("record: " + err.Error()) // the structs hold nothing that JSON lacks
	}
	e.Kind, e.Version, e.Payload = kind, len(kinds[kind]), payload
	return e
}

// Decode returns the event of an envelope, lifted to the version in use. A kind
// or version of a later program gives Unknown; a payload that cannot be read
// gives an error that wraps ErrPayload.
func Decode(e journal.Envelope) (Event, error) {
	versions := kinds[e.Kind]
	if e.Version < 1 || e.Version > len(versions) {
		return Unknown{Kind: e.Kind, Version: e.Version}, nil
	}
	event, err := versions[e.Version-1](e.Payload)
	if err != nil {
		return nil, fmt.Errorf("%s/%d %s: %w: %w", e.Kind, e.Version, e.ID, ErrPayload, err)
	}
	return event, nil
}

// Kinds lists the kinds of entry that this program writes.
func Kinds() []string { return slices.Sorted(maps.Keys(kinds)) }
