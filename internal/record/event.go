package record

import (
	"time"

	"rung/internal/blob"
)

// AsRead is what was read or told, as it was written down.
type AsRead struct {
	Text string `json:"text"`           // decimal text, "118", or a word, "running"
	Unit string `json:"unit,omitempty"` // as on the meter, "psig"; empty for a word
}

// PropertyAdded says that a house was entered. A later one with the same
// Property replaces the details.
type PropertyAdded struct {
	Property  PropertyID `json:"property"`
	Name      string     `json:"name"` // how the shop calls it
	Address   string     `json:"address,omitempty"`
	Contact   string     `json:"contact,omitempty"` // whom to call, how
	Access    string     `json:"access,omitempty"`  // gate, key, dog
	Elevation *AsRead    `json:"elevation,omitempty"`
}

// SystemAdded says that a property has a system. A later one with the same
// System replaces the details.
type SystemAdded struct {
	System SystemID `json:"system"`
	Number string   `json:"number,omitempty"` // as on its label: "2"
	Name   string   `json:"name,omitempty"`   // "upstairs"
	Kind   string   `json:"kind"`             // "split-air-conditioner"
	Areas  string   `json:"areas,omitempty"`  // what it serves
	Proven string   `json:"proven,omitempty"` // how it is known that these units belong together
}

// UnitAdded says that a system has a unit. A later one with the same Unit
// replaces the details.
type UnitAdded struct {
	Unit   UnitID   `json:"unit"`
	System SystemID `json:"system"`
	Kind   string   `json:"kind"`            // "outdoor-unit", "air-handler", "thermostat"
	Place  string   `json:"place,omitempty"` // "north side, by the gate"
	Label  string   `json:"label,omitempty"`
}

// The links of the chain from a thermostat to the breaker, in the order of a
// call: each hangs on the one before.
const (
	LinkIndoorUnit  = "indoor-unit"  // that the thermostat runs
	LinkOutdoorUnit = "outdoor-unit" // that the thermostat runs
	LinkDisconnect  = "disconnect"   // of the outdoor unit
	LinkBreaker     = "breaker"      // that feeds the disconnect
)

// ByLabel is the How of a link that was read off a label and not tried.
const ByLabel = "label"

// LinkFound says which unit, disconnect or breaker belongs to a system, and how
// that was found out. A later one of the same System and Link replaces an
// earlier one of the same sort: what a label says replaces what a label said,
// what a test showed what a test showed.
type LinkFound struct {
	System SystemID `json:"system"`
	Link   string   `json:"link"`
	Place  string   `json:"place"`          // in words or a number: "north side, left", "14-16"
	Unit   UnitID   `json:"unit,omitempty"` // the unit that it is, where it is entered
	How    string   `json:"how"`            // stable id: "breaker-dead", or ByLabel
	By     string   `json:"by,omitempty"`   // who found it, if not the author
	Note   string   `json:"note,omitempty"`
}

// NameplateRecorded gives values of a unit's nameplate. Values not named keep
// what an earlier entry said; a value with empty Text is unknown again.
type NameplateRecorded struct {
	Unit   UnitID                `json:"unit"`
	Values map[string]PlateValue `json:"values"` // by field: "rated-load-amps"
}

// PlateValue is one value of a nameplate.
type PlateValue struct {
	AsRead
	How string `json:"how,omitempty"` // "plate", "label", "told", "measured"; empty: plate
}

// VisitOpened says that a service call began.
type VisitOpened struct {
	Visit      VisitID  `json:"visit"`
	System     SystemID `json:"system"`
	Words      string   `json:"words,omitempty"`     // the customer's own
	Complaint  string   `json:"complaint,omitempty"` // the class they were sorted into
	Who        Person   `json:"who"`                 // works at the unit
	Supervisor string   `json:"supervisor,omitempty"`
}

// Person is who works at the unit, and what he may do.
type Person struct {
	Name        string `json:"name"`
	Role        string `json:"role,omitempty"` // "mechanic", "apprentice"
	Refrigerant bool   `json:"refrigerant,omitempty"`
	Gas         bool   `json:"gas,omitempty"`
	Electrician bool   `json:"electrician,omitempty"`
	Certificate string `json:"certificate,omitempty"`
}

// SurroundingsRecorded gives what surrounds the system. Values not named keep
// what an earlier entry of the visit said; empty Text takes a value back.
type SurroundingsRecorded struct {
	Visit      VisitID           `json:"visit"`
	Values     map[string]AsRead `json:"values"` // "outdoor-dry-bulb", "line-voltage"
	Place      string            `json:"place,omitempty"`
	Instrument string            `json:"instrument,omitempty"`
}

// HazardNoted says that a danger was found, or is over.
type HazardNoted struct {
	Visit  VisitID `json:"visit"`
	Hazard string  `json:"hazard"` // "gas-smell"
	Over   bool    `json:"over,omitempty"`
	Note   string  `json:"note,omitempty"`
}

// ReadingTaken is one thing that was read on a visit.
type ReadingTaken struct {
	Visit       VisitID `json:"visit"`
	Check       string  `json:"check"`
	Point       string  `json:"point"`
	Demand      string  `json:"demand"` // off, cool, heat, fan
	AsRead              // empty if NotReadable
	NotReadable bool    `json:"not_readable,omitempty"` // the meter shows nothing there and then
	Place       string  `json:"place,omitempty"`        // where exactly, if not the usual place
	Instrument  string  `json:"instrument,omitempty"`
	By          string  `json:"by,omitempty"` // who read it, if not the author
	// Role is the standing of the author, "mechanic" or "apprentice"; empty where
	// it is not known, as in every reading of version 1.
	Role string `json:"role,omitempty"`
	// At is when it was read, if that is not when it was entered.
	At *time.Time `json:"at,omitempty"`
	// Unsettled says that the system had not run long enough.
	Unsettled bool   `json:"unsettled,omitempty"`
	Doubt     string `json:"doubt,omitempty"` // why the taker doubts it
	Note      string `json:"note,omitempty"`
	// AfterRepair is the entry of the last repair done before it was read;
	// empty before the first. It places the reading in an epoch.
	AfterRepair EntryID `json:"after_repair,omitempty"`
}

// EntryWithdrawn takes an earlier entry back: a slip of the finger, a reading
// on the wrong terminal. The entry stays in the journal and no longer counts.
// Withdrawing a withdrawal makes the entry count again.
type EntryWithdrawn struct {
	Visit VisitID `json:"visit,omitempty"`
	Entry EntryID `json:"entry"`
	Why   string  `json:"why,omitempty"`
}

// CheckRefused says that a check could not be done. It says nothing about the
// system.
type CheckRefused struct {
	Visit       VisitID `json:"visit"`
	Check       string  `json:"check"`
	Point       string  `json:"point,omitempty"` // empty: every point
	Demand      string  `json:"demand,omitempty"`
	Why         string  `json:"why,omitempty"`
	AfterRepair EntryID `json:"after_repair,omitempty"`
}

// AdviceShown keeps what the program advised at a turn of the visit.
type AdviceShown struct {
	Visit       VisitID `json:"visit"`
	Advice      Advice  `json:"advice"`
	AfterRepair EntryID `json:"after_repair,omitempty"`
}

// Advice is the advice at one moment, rounded as it was shown.
type Advice struct {
	Engine   string   `json:"engine"`  // version of the program that gave it
	Verdict  string   `json:"verdict"` // repair, check, escalate, cured
	Causes   []Odds   `json:"causes,omitempty"`
	Unlisted int      `json:"unlisted,omitempty"` // per cent: none of the listed causes
	Repair   string   `json:"repair,omitempty"`
	Next     []string `json:"next,omitempty"` // checks proposed
	Readings int      `json:"readings"`       // on which it rests
}

// Odds is the rounded probability of a cause.
type Odds struct {
	Cause   string `json:"cause"`
	Percent int    `json:"percent"`
}

// CauseAccepted says that the mechanic took a cause for the right one.
type CauseAccepted struct {
	Visit       VisitID `json:"visit"`
	Cause       string  `json:"cause"`
	Advice      Advice  `json:"advice"`
	AfterRepair EntryID `json:"after_repair,omitempty"`
}

// PartReplaced says that a part was changed, in the course of the repair that
// it names.
type PartReplaced struct {
	Visit    VisitID    `json:"visit"`
	Repair   EntryID    `json:"repair,omitempty"` // the entry of RepairDone
	Unit     UnitID     `json:"unit,omitempty"`
	Part     string     `json:"part"`          // "run-capacitor"
	Out      string     `json:"out,omitempty"` // label of the old part
	In       string     `json:"in,omitempty"`  // label of the new one
	Measured []Measured `json:"measured,omitempty"`
	// Why is why the old part failed, or that it is not known.
	Why  string `json:"why,omitempty"`
	Kept bool   `json:"kept,omitempty"` // the old part was kept
}

// Measured is a value read on a removed part.
type Measured struct {
	What string `json:"what"` // "herm"
	AsRead
}

// RepairDone says that a repair was done. Readings after it are of another
// epoch.
type RepairDone struct {
	Visit  VisitID `json:"visit"`
	Repair string  `json:"repair"`          // id of the catalogue, or free text in Note
	Cause  string  `json:"cause,omitempty"` // for which it was done
	By     string  `json:"by,omitempty"`
	Note   string  `json:"note,omitempty"`
}

// ProofTaken says what a check showed before and after the repair, in one mode.
type ProofTaken struct {
	Visit       VisitID `json:"visit"`
	Mode        string  `json:"mode"` // cool, heat, fan
	Check       string  `json:"check,omitempty"`
	Point       string  `json:"point,omitempty"`
	Before      *AsRead `json:"before,omitempty"`
	After       *AsRead `json:"after,omitempty"`
	Expected    string  `json:"expected,omitempty"` // what was shown as healthy: "17 to 22 °F"
	Holds       bool    `json:"holds,omitempty"`
	Limited     string  `json:"limited,omitempty"` // why this mode could not be proved in full
	AfterRepair EntryID `json:"after_repair,omitempty"`
}

// ChargeNotJudged says why the refrigerant charge was not judged, and when it
// can be.
type ChargeNotJudged struct {
	Visit       VisitID  `json:"visit"`
	Reasons     []string `json:"reasons"` // stable ids
	ReturnAbove *AsRead  `json:"return_above,omitempty"`
	Task        TaskID   `json:"task,omitempty"` // to come back
}

// TaskAdded says that something is to be done later.
type TaskAdded struct {
	Task   TaskID   `json:"task"`
	System SystemID `json:"system,omitempty"`
	Visit  VisitID  `json:"visit,omitempty"` // on which it arose
	What   string   `json:"what"`
	Due    string   `json:"due,omitempty"`    // a day, "2027-05-01"
	Warmer *AsRead  `json:"warmer,omitempty"` // not before it is this warm outdoors
	Reason string   `json:"reason,omitempty"` // stable id: "charge-not-judged"
	Who    string   `json:"who,omitempty"`    // is to do it
}

// TaskDone says that a task was done or dropped.
type TaskDone struct {
	Task    TaskID  `json:"task"`
	Visit   VisitID `json:"visit,omitempty"`
	Note    string  `json:"note,omitempty"`
	Dropped bool    `json:"dropped,omitempty"`
}

// RecommendationMade says what was recommended to the customer. A later one
// with the same Recommendation replaces it, for instance to give the answer.
type RecommendationMade struct {
	Recommendation RecommendationID `json:"recommendation"`
	Visit          VisitID          `json:"visit"`
	What           string           `json:"what"`
	By             string           `json:"by,omitempty"`     // a day
	Answer         string           `json:"answer,omitempty"` // accepted, declined, later
}

// NoteLeft is the dated note left on a unit, or a remark kept with the visit.
type NoteLeft struct {
	Visit VisitID `json:"visit,omitempty"`
	Unit  UnitID  `json:"unit,omitempty"` // on which it hangs; empty: a remark
	Text  string  `json:"text"`
}

// ReportShared says that the report of a visit may be read by whoever has a
// link, until the entry is withdrawn. The token stands here as it is: who reads
// the journal can make the report himself, and so the link can be shown again.
type ReportShared struct {
	Visit VisitID `json:"visit"`
	Token string  `json:"token"` // 256 bits of chance, in the letters of an address
}

// VisitClosed says that the visit ended.
type VisitClosed struct {
	Visit   VisitID `json:"visit"`
	Outcome string  `json:"outcome"` // fixed, returning, handed-over, no-fault-found, declined
	Note    string  `json:"note,omitempty"`
}

// LearningSetAside says that what the shop proved on calls closed before this
// entry no longer bends the odds. It stands in ShopStream; withdrawn, the calls
// count again.
type LearningSetAside struct {
	Why string `json:"why,omitempty"`
	// What is the topic set aside, "age" or "minutes"; empty, as in every entry of
	// version 1, for all that was learned.
	What string `json:"what,omitempty"`
	// Off says that neither does what the program brings along count any more.
	Off bool `json:"off,omitempty"`
}

// ClosuresCounted gives what the calls of the whole shop add up to, for devices
// that hold only some of them. It stands in ShopStream; the latest counts.
type ClosuresCounted struct {
	Counts map[string]float64 `json:"counts"` // proved closures by cause
	// Totals are what the closed calls add up to, by topic and what it is of:
	// "minutes/mechanic/Ada/cap-bench". Version 1 has none.
	Totals map[string]Total `json:"totals,omitempty"`
}

// Total is a number of observations, with the sums of what was observed and of its
// squares where it is a number.
type Total struct {
	Count   float64 `json:"n"`
	Sum     float64 `json:"sum,omitempty"`
	Squares float64 `json:"squares,omitempty"`
}

// PhotoTaken says that a photo was taken: on a visit, of a unit, or both, and of
// what. The picture itself is kept beside the journal under Hash and may come
// later than this entry, or not at all.
type PhotoTaken struct {
	Visit VisitID `json:"visit,omitempty"`
	Unit  UnitID  `json:"unit,omitempty"`
	Check string  `json:"check,omitempty"` // it belongs to
	Point string  `json:"point,omitempty"` // of the check

	Hash   blob.Hash `json:"hash"`             // of the bytes as kept
	Type   string    `json:"type"`             // media type, "image/jpeg"
	Bytes  int       `json:"bytes"`            // how many
	Width  int       `json:"width,omitempty"`  // in points, as shown; 0 where not known
	Height int       `json:"height,omitempty"` // in points, as shown; 0 where not known

	Shows   string `json:"shows,omitempty"`   // stable id: "nameplate", "wiring"
	Caption string `json:"caption,omitempty"` // in words
	// Customer says that the customer gets it with the report.
	Customer bool `json:"customer,omitempty"`
}

// PhotoMarked says whether the customer gets a photo, after it was taken. The
// latest counts.
type PhotoMarked struct {
	Photo    EntryID `json:"photo"` // the entry of PhotoTaken
	Customer bool    `json:"customer,omitempty"`
}

// What a settlement is about.
const (
	AboutPlate   = "nameplate" // a field of a unit's nameplate
	AboutRepair  = "repair"    // the repairs of a visit
	AboutClosing = "closing"   // how a visit ended
)

// StatementSettled says which of several entries about one thing stands, after
// two people recorded different things without knowing of each other. Whoever
// records another value than the one he sees writes one too, so that his entry
// is known to be a correction.
type StatementSettled struct {
	About string  `json:"about"`
	Visit VisitID `json:"visit,omitempty"` // of repairs and closings
	Unit  UnitID  `json:"unit,omitempty"`  // of a nameplate
	Field string  `json:"field,omitempty"` // of a nameplate
	// Stands is the entry that counts; empty: all of them are true.
	Stands EntryID `json:"stands,omitempty"`
	// Over lists the entries that the author saw, earlier settlements among
	// them. One not listed is still in dispute.
	Over []EntryID `json:"over"`
	Why  string    `json:"why,omitempty"`
}
