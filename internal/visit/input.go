package visit

import (
	"time"

	"rung/internal/record"
)

// By says who enters something, and in which form. The same form sent twice is
// one entry; the same form with other values is a Conflict.
type By struct {
	Author string
	// Person is what the author is at the unit, where that is known from a sign-in
	// or the phone's enrolment. Zero: not known, and taken from what is typed.
	Person record.Person
	Form   string // from Service.NewForm, made when the form was drawn
}

// PropertyInput describes a house. Name is needed.
type PropertyInput struct {
	Name, Address, Contact, Access string
	Elevation                      string            // "250 ft", a bare number is feet; may be empty
	Replaces                       record.PropertyID // whose details are replaced; empty for a new one
}

// SystemInput describes a system. Kind may be empty: split-air-conditioner.
type SystemInput struct {
	Number, Name, Areas, Kind, Proven string
	Replaces                          record.SystemID // whose details are replaced; empty for a new one
}

// UnitInput describes a unit. Kind is needed: one of UnitKinds.
type UnitInput struct {
	Kind, Place, Label string
	Replaces           record.UnitID // whose details are replaced; empty for a new one
}

// OpenInput opens a visit.
type OpenInput struct {
	Words      string // the customer's own
	Complaint  string // a class of Complaints
	Who        record.Person
	Supervisor string
}

// SurroundingsInput gives values by name: one of Surroundings. Text as typed,
// "95", "95 F", "35 C"; an empty text leaves the value as it was.
type SurroundingsInput struct {
	Values            map[string]string
	Place, Instrument string
}

// ReadingsInput is one check read.
type ReadingsInput struct {
	Check  string
	Demand string // off, cool, heat, fan
	Points []PointInput
	// Unsettled: the system had not run 15 minutes.
	Unsettled               bool
	Doubt                   string
	Instrument, Place, Note string
	ReadBy                  string     // if not the author
	At                      *time.Time // if not now
	// Epoch is the epoch for which the form was drawn: the reading is refused
	// as a Conflict if a repair was recorded since. Nil means the present one.
	Epoch *int
}

// PointInput is what one point shows. Points with empty Text are left out.
type PointInput struct {
	Point string
	Text  string // "118", "118 psig", or a word of the point
	Unit  string // where Text has none; empty: the point's own unit
	// NotReadable says that the meter shows nothing there and then.
	NotReadable bool
}

// RefusalInput says what could not be done.
type RefusalInput struct {
	Check, Point, Demand string
	Why                  string // one of RefusalReasons, or free text
}

// RepairInput is a repair done.
type RepairInput struct {
	Repair string // an id of the catalogue; "other" with Note if it is not there
	Cause  string // for which it was done; may be empty
	Note   string
	By     string
	Part   *PartInput // the part changed, if one was
}

// PartInput is a part changed.
type PartInput struct {
	Unit     record.UnitID
	Part     string
	Out, In  string // labels of the old and the new part
	Measured []record.Measured
	Why      string // why the old one failed; "not known" is an answer
	Kept     bool
}

// ProofInput records the proof of one mode.
type ProofInput struct {
	Mode    string // cool, heat, fan
	Limited string // why it could not be proved in full, if so
}

// TaskInput is something to be done later.
type TaskInput struct {
	What   string
	Due    string // a day, "2027-05-01"; may be empty
	Warmer string // not before it is this warm outdoors, "65 F"; may be empty
	Who    string
}

// NoteInput is a note left on a unit, or with the visit if Unit is empty.
type NoteInput struct {
	Unit record.UnitID
	Text string
}

// PhotoInput is a photo: of a visit, of a unit or of both.
type PhotoInput struct {
	Visit        record.VisitID
	Unit         record.UnitID
	Check, Point string // of the visit; may be empty
	Shows        string // one of PhotoSubjects; may be empty
	Caption      string
	Customer     bool // goes with the report
	Content      []byte
}

// CloseInput ends a visit.
type CloseInput struct {
	Outcome string // one of Outcomes
	Note    string
	// Anyway closes although the proof is not complete; Note must say why.
	Anyway bool
}
