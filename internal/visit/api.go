package visit

import (
	"context"

	"rung/internal/blob"
	"rung/internal/fault"
	"rung/internal/ledger"
	"rung/internal/record"
)

// API lists the use cases. Service has them; the pages ask for no more than
// this, so that a page can be tried without a journal.
//
// A mistake of the person is an *Error. Errors of the journal are passed on,
// wrapped, to be told with errors.Is: journal.ErrFull, journal.ErrReadOnly …
type API interface {
	// NewForm returns the id of a form, to be put into it as a hidden field.
	NewForm() string

	// Properties lists the properties whose name or address contains find.
	Properties(ctx context.Context, find string) ([]ledger.PropertyLine, error)
	// OpenVisits lists the visits not closed, the latest first.
	OpenVisits(ctx context.Context) ([]ledger.VisitLine, error)
	// Tasks lists the open tasks, the most urgent first.
	Tasks(ctx context.Context) ([]ledger.TaskLine, error)

	// Property returns a property with all about it.
	Property(ctx context.Context, id record.PropertyID) (*ledger.Property, error)
	// System returns a system and its property.
	System(ctx context.Context, id record.SystemID) (*ledger.Property, *ledger.System, error)
	// Unit returns a unit, its system and its property.
	Unit(ctx context.Context, id record.UnitID) (*ledger.Property, *ledger.System, *ledger.Unit, error)
	// Visit returns a visit with its system and property.
	Visit(ctx context.Context, id record.VisitID) (Here, error)

	AddProperty(ctx context.Context, by By, in PropertyInput) (record.PropertyID, error)
	AddSystem(ctx context.Context, by By, to record.PropertyID, in SystemInput) (record.SystemID, error)
	AddUnit(ctx context.Context, by By, to record.SystemID, in UnitInput) (record.UnitID, error)

	// Plate returns the fields of the unit's nameplate, known, assumed or unknown.
	Plate(ctx context.Context, unit record.UnitID) ([]PlateField, error)
	// RecordPlate records values as typed, by field; an empty value leaves a
	// field as it is, "-" makes it unknown again.
	RecordPlate(ctx context.Context, by By, unit record.UnitID, values map[string]string) error

	// Chain says which thermostat, units, disconnect and breaker of a house
	// belong together, and what to prove next.
	Chain(ctx context.Context, property record.PropertyID) (ChainSheet, error)
	// LinkStep returns how a link of a system is proved, and how it stands.
	LinkStep(ctx context.Context, system record.SystemID, link string) (ChainSheet, ChainLink, ChainStep, error)
	// RecordLink records what was found about a link of a system.
	RecordLink(ctx context.Context, by By, system record.SystemID, in LinkInput) (record.EntryID, error)
	// WithdrawLink takes a finding about a link back, or an earlier withdrawal.
	WithdrawLink(ctx context.Context, by By, property record.PropertyID, entry record.EntryID, why string) error

	OpenVisit(ctx context.Context, by By, system record.SystemID, in OpenInput) (record.VisitID, error)
	RecordSurroundings(ctx context.Context, by By, visit record.VisitID, in SurroundingsInput) error
	// NoteHazard records that a danger is there, or is over.
	NoteHazard(ctx context.Context, by By, visit record.VisitID, hazard string, over bool) error

	// TakeReadings records what a check showed and returns the readings' ids.
	TakeReadings(ctx context.Context, by By, visit record.VisitID, in ReadingsInput) ([]record.EntryID, error)
	// Withdraw takes an entry of the visit back: a reading, a refusal, a repair,
	// a proof, a note, a closing; or an earlier withdrawal.
	Withdraw(ctx context.Context, by By, visit record.VisitID, entry record.EntryID, why string) error
	// Refuse records that a check could not be done.
	Refuse(ctx context.Context, by By, visit record.VisitID, in RefusalInput) error

	// Advise says what stands and what to do next.
	Advise(ctx context.Context, visit record.VisitID) (Advice, error)
	// Checks lists every check of the system, with what it would tell now.
	Checks(ctx context.Context, visit record.VisitID) ([]Card, error)
	// Card returns one check with what each point should show; demand may be empty.
	Card(ctx context.Context, visit record.VisitID, check, demand string) (Card, error)
	// Compare holds a check that somebody would do next against the one
	// proposed; demand may be empty. A check or demand that this system does
	// not have is an *Error.
	Compare(ctx context.Context, visit record.VisitID, check, demand string) (Comparison, error)

	// Model returns the physical model of the system of a visit, for drawings.
	Model(ctx context.Context, visit record.VisitID) (Model, error)

	// AcceptCause records that the mechanic takes a cause for the right one.
	AcceptCause(ctx context.Context, by By, visit record.VisitID, cause string) error
	// Repairs lists the repairs of the catalogue, those that could help first.
	Repairs(ctx context.Context, visit record.VisitID) ([]RepairLine, error)
	// RecordRepair records a repair, which begins a new epoch.
	RecordRepair(ctx context.Context, by By, visit record.VisitID, in RepairInput) (record.EntryID, error)
	// Proof says which checks must now hold, before and after side by side.
	Proof(ctx context.Context, visit record.VisitID) (Proof, error)
	// RecordProof records the proof of a mode as it stands.
	RecordProof(ctx context.Context, by By, visit record.VisitID, in ProofInput) error

	AddTask(ctx context.Context, by By, visit record.VisitID, in TaskInput) (record.TaskID, error)
	FinishTask(ctx context.Context, by By, task record.TaskID, note string, dropped bool) error
	LeaveNote(ctx context.Context, by By, visit record.VisitID, in NoteInput) error
	// Recommend records what was recommended; an empty id makes a new one.
	Recommend(ctx context.Context, by By, visit record.VisitID, id record.RecommendationID, what, until, answer string) error
	Close(ctx context.Context, by By, visit record.VisitID, in CloseInput) error

	// Settle records which of several entries in dispute stands.
	Settle(ctx context.Context, by By, property record.PropertyID, in SettleInput) error
	// ShareReport makes a link to the report of a visit, which works until it is
	// withdrawn.
	ShareReport(ctx context.Context, by By, visit record.VisitID) (record.EntryID, error)
	// SharedReport returns the visit of a link that works.
	SharedReport(ctx context.Context, token string) (Here, error)

	// AddPhoto keeps a photo of a visit or a unit and records it, without the place
	// and all else that a camera writes into it.
	AddPhoto(ctx context.Context, by By, in PhotoInput) (record.EntryID, error)
	// MarkPhoto says whether the customer gets a photo with the report.
	MarkPhoto(ctx context.Context, by By, property record.PropertyID, photo record.EntryID, customer bool) error
	// WithdrawPhoto takes a photo back.
	WithdrawPhoto(ctx context.Context, by By, property record.PropertyID, photo record.EntryID, why string) error
	// Picture returns the bytes of a photo and their media type; NotFound if they
	// are not here, or not here yet.
	Picture(ctx context.Context, h blob.Hash) (content []byte, kind string, err error)
	// NotHere returns those of the photos whose bytes are not here yet.
	NotHere(ctx context.Context, photos []*ledger.Photo) (map[blob.Hash]bool, error)

	// History returns the readings of a point over all visits to a system, oldest first.
	History(ctx context.Context, system record.SystemID, check, point string) ([]HistoryLine, error)

	// Forecast carries the readings of a point on to the next season.
	Forecast(ctx context.Context, system record.SystemID, check, point string) (Forecast, error)
	// Drifts returns the differences that move with load and weather, against the model.
	Drifts(ctx context.Context, system record.SystemID) ([]Drift, error)
	// Learned says what the shop's closed calls do to the weights of the causes of
	// a kind of system; empty is the split air conditioner.
	Learned(ctx context.Context, kind string) (Learned, error)
	// SetLearningAside makes only calls closed from now on count; CountAgain takes
	// such an entry back.
	SetLearningAside(ctx context.Context, by By, what string, off bool, why string) error
	// ShareCounts gives the counts of the calls held here to all other devices.
	ShareCounts(ctx context.Context, by By) error
	CountAgain(ctx context.Context, by By, entry record.EntryID) error

	// The closed lists of answers.
	// Complaints lists the classes of complaint that a kind of system can bring;
	// all of them for an empty kind.
	Complaints(kind string) []Choice
	SystemKinds() []Choice
	// Complaint returns a class of complaint: what customers say, what to ask.
	Complaint(id string) (*fault.Complaint, bool)
	UnitKinds() []Choice
	Surroundings() []PlateField // names, dimensions and units
	Hazards() []Choice
	RefusalReasons() []Choice
	Outcomes() []Choice
	PhotoSubjects() []Choice
	// LinkProofs lists how a link can be found out, LinkHint says what is asked for.
	LinkProofs(link string) []Choice
	LinkHint(link string) string
}

var _ API = (*Service)(nil)
