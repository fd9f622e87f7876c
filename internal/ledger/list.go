package ledger

import (
	"crypto/sha256"
	"encoding/hex"
	"encoding/json"
	"strings"
	"time"

	"rung/internal/journal"
	"rung/internal/record"
)

// Names of the lists kept over all properties.
const (
	ListProperties = "property"   // by name: PropertyLine
	ListVisits     = "visit"      // by time of opening, UTC: VisitLine
	ListOpenVisits = "open-visit" // the same, of those not closed
	ListTasks      = "task"       // open ones by day, those without a day last: TaskLine
	ListWhere      = "where"      // id of a system, unit, visit or task: the PropertyID as text
	ListLessons    = "lesson"     // closed calls, by time of closing, UTC: Lesson
	ListShared     = "shared"     // ShareKey of a link to a report that works: the VisitID as text
	ListPhotos     = "photo"      // by property and hash, of those that count: PhotoLine
	ListPhotoAt    = "photo-at"   // hash of a photo that counts: the PropertyID as text
)

// ShareKey returns the key of a link in ListShared: the SHA-256 of its token, so
// that the time of a look-up tells nothing about the tokens there are.
func ShareKey(token string) string {
	h := sha256.Sum256([]byte(token))
	return hex.EncodeToString(h[:])
}

// Summary returns the lists, for the stores to keep. Its version changes
// whenever rows for the same entries would.
func Summary() journal.Summary { return journal.Summary{Version: "ledger-6", Rows: rows} }

// PropertyLine is a property in a list.
type PropertyLine struct {
	Property  record.PropertyID `json:"property"`
	Name      string            `json:"name"`
	Address   string            `json:"address,omitempty"`
	Systems   int               `json:"systems"`
	LastVisit *time.Time        `json:"last_visit,omitempty"`
}

// VisitLine is a visit in a list.
type VisitLine struct {
	Visit     record.VisitID    `json:"visit"`
	Property  record.PropertyID `json:"property"`
	Place     string            `json:"place"` // name of the property
	System    record.SystemID   `json:"system"`
	Name      string            `json:"name"` // number and name of the system
	Complaint string            `json:"complaint,omitempty"`
	Words     string            `json:"words,omitempty"`
	Who       string            `json:"who,omitempty"`
	Opened    time.Time         `json:"opened"`
	Closed    *time.Time        `json:"closed,omitempty"`
	Outcome   string            `json:"outcome,omitempty"`
}

// TaskLine is a task in a list.
type TaskLine struct {
	record.TaskAdded
	Property record.PropertyID `json:"property"`
	Place    string            `json:"place"`
}

// Title returns the number and name by which people call the system.
func (s *System) Title() string {
	title := strings.TrimSpace(s.Number + " " + s.Name)
	if title == "" {
		title = s.Kind
	}
	return title
}

func rows(s journal.Stream, envelopes []journal.Envelope) []journal.Row {
	id, ok := record.PropertyOf(s)
	if !ok {
		return nil
	}
	p := Fold(id, envelopes)
	line := PropertyLine{Property: id, Name: p.Name, Address: p.Address, Systems: len(p.Systems)}
	if n := len(p.Visits); n > 0 {
		line.LastVisit = &p.Visits[n-1].Opened.At
	}
	list := []journal.Row{
		row(ListProperties, strings.ToLower(p.Name)+"|"+string(id), line),
	}
	where := func(id string) {
		list = append(list, journal.Row{List: ListWhere, Key: id, Value: []byte(p.Property)})
	}
	for _, s := range p.Systems {
		where(string(s.System))
		for _, u := range s.Units {
			where(string(u.Unit))
		}
	}
	for _, v := range p.Visits {
		where(string(v.Visit))
		line := p.visitLine(v)
		key := v.Opened.At.Format(time.RFC3339) + "|" + string(v.Visit)
		list = append(list, row(ListVisits, key, line))
		if v.Closed == nil {
			list = append(list, row(ListOpenVisits, key, line))
		}
		for _, x := range v.Shared {
			list = append(list, journal.Row{List: ListShared, Key: ShareKey(x.Token), Value: []byte(v.Visit)})
		}
	}
	list = append(list, p.photoRows()...)
	for _, l := range p.Lessons() {
		list = append(list, row(ListLessons, l.Closed.Format(time.RFC3339)+"|"+string(l.Visit), l))
	}
	for _, t := range p.Tasks {
		where(string(t.Task))
	}
	for _, t := range p.OpenTasks() {
		due := t.Due
		if due == "" {
			due = "9999-12-31"
		}
		list = append(list, row(ListTasks, due+"|"+string(t.Task), TaskLine{TaskAdded: t.TaskAdded, Property: id, Place: p.Name}))
	}
	return list
}

// visitLine returns v as it stands in a list.
func (p *Property) visitLine(v *Visit) VisitLine {
	line := VisitLine{
		Visit: v.Visit, Property: p.Property, Place: p.Name, System: v.System,
		Complaint: v.Complaint, Words: v.Words, Who: v.Who.Name, Opened: v.Opened.At,
	}
	if s, ok := p.System(v.System); ok {
		line.Name = s.Title()
	}
	if v.Closed != nil {
		line.Closed, line.Outcome = &v.Closed.Stamp.At, v.Closed.Outcome
	}
	return line
}

func row(list, key string, value any) journal.Row {
	b, err := json.Marshal(value)
	if err != nil {
		panic("ledger: " + err.Error()) // the lines hold nothing that JSON lacks
	}
	return journal.Row{List: list, Key: key, Value: b}
}
