package ledger

import (
	"encoding/binary"
	"fmt"
	"maps"
	"math/rand/v2"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/record"
)

// script writes entries one minute apart.
type script struct{ envelopes []journal.Envelope }

var start = time.Date(2026, 7, 14, 15, 0, 0, 0, time.UTC)

const house = record.PropertyID("H")

// add appends an event and returns the id of its entry.
func (s *script) add(event record.Event) record.EntryID {
	n := len(s.envelopes) + 1
	e := journal.Envelope{Stream: house.Stream(), Device: "phone", Author: "Ada",
		Time: journal.TimeOf(start.Add(time.Duration(n) * time.Minute))}
	binary.BigEndian.PutUint64(e.ID[8:], uint64(n))
	s.envelopes = append(s.envelopes, record.Encode(e, event))
	return record.EntryID(e.ID.String())
}

func (s *script) fold() *Property { return Fold(house, s.envelopes) }

// reading appends a reading in the epoch after repair.
func (s *script) reading(text string, after record.EntryID) record.EntryID {
	return s.add(record.ReadingTaken{Visit: "V", Check: "cap-bench", Point: "herm", Demand: "off",
		AsRead: record.AsRead{Text: text, Unit: "µF"}, AfterRepair: after})
}

// opened returns a script with a house, a system, a unit and a visit.
func opened() *script {
	s := &script{}
	s.add(record.PropertyAdded{Property: house, Name: "Mill house"})
	s.add(record.SystemAdded{System: "S", Number: "2", Name: "upstairs", Kind: "split-air-conditioner"})
	s.add(record.UnitAdded{Unit: "U", System: "S", Kind: "outdoor-unit"})
	s.add(record.VisitOpened{Visit: "V", System: "S", Words: "stays warm", Complaint: "not-cooling"})
	return s
}

func TestFold(t *testing.T) {
	s := opened()
	s.add(record.NameplateRecorded{Unit: "U", Values: map[string]record.PlateValue{
		"rated-load-amps": {AsRead: record.AsRead{Text: "14.1", Unit: "A"}}, "fan-amps": {AsRead: record.AsRead{Text: "9", Unit: "A"}}}})
	s.add(record.NameplateRecorded{Unit: "U", Values: map[string]record.PlateValue{
		"rated-load-amps": {AsRead: record.AsRead{Text: "14.2", Unit: "A"}}, "fan-amps": {}}})
	s.add(record.SurroundingsRecorded{Visit: "V", Values: map[string]record.AsRead{"outdoor-dry-bulb": {Text: "95", Unit: "°F"}}})
	s.add(record.HazardNoted{Visit: "V", Hazard: "gas-smell"})
	s.add(record.HazardNoted{Visit: "V", Hazard: "water-near-live-parts"})
	s.add(record.HazardNoted{Visit: "V", Hazard: "gas-smell", Over: true})
	s.reading("4.90", "")
	s.add(record.CheckRefused{Visit: "V", Check: "esp-total", Why: "no-access"})
	repair := s.add(record.RepairDone{Visit: "V", Repair: "replace-run-capacitor"})
	s.add(record.PartReplaced{Visit: "V", Repair: repair, Unit: "U", Part: "run-capacitor"})
	s.reading("45.2", repair)
	s.add(record.ProofTaken{Visit: "V", Mode: "cool", AfterRepair: repair})
	s.add(record.ChargeNotJudged{Visit: "V", Reasons: []string{"outdoor-below-limit"}, Task: "T"})
	s.add(record.TaskAdded{Task: "T", System: "S", Visit: "V", What: "judge the charge"})
	s.add(record.TaskAdded{Task: "T2", System: "S", What: "order a filter"})
	s.add(record.TaskDone{Task: "T2"})
	s.add(record.RecommendationMade{Recommendation: "C", Visit: "V", What: "clean the coil"})
	s.add(record.RecommendationMade{Recommendation: "C", Visit: "V", What: "clean the coil", Answer: "later"})
	s.add(record.NoteLeft{Visit: "V", Unit: "U", Text: "capacitor replaced"})
	s.add(record.VisitClosed{Visit: "V", Outcome: "fixed"})

	p := s.fold()
	v, _ := p.Visit("V")
	u, sys, _ := p.Unit("U")
	for what, pair := range map[string][2]any{
		"name":                {p.Name, "Mill house"},
		"system":              {sys.Title(), "2 upstairs"},
		"corrected plate":     {u.Plate["rated-load-amps"].Text, "14.2"},
		"withdrawn plate":     {len(u.Plate), 1},
		"notes on the unit":   {len(u.Notes), 1},
		"notes of the visit":  {len(v.Notes), 1},
		"outdoors":            {v.Surroundings["outdoor-dry-bulb"].Text, "95"},
		"hazards":             {fmt.Sprint(v.Hazards), "[water-near-live-parts]"},
		"readings":            {len(v.Readings), 2},
		"epoch before":        {v.Readings[0].Epoch, 0},
		"epoch after":         {v.Readings[1].Epoch, 1},
		"refusals":            {v.Refusals[0].Epoch, 0},
		"parts of the repair": {v.Repairs[0].Parts[0].Part, "run-capacitor"},
		"proof":               {v.Proofs[0].Epoch, 1},
		"charge":              {string(v.NotJudged[0].Task), "T"},
		"open tasks":          {len(p.OpenTasks()), 1},
		"recommendation":      {p.Recommendations[0].Answer, "later"},
		"closed":              {v.Closed.Outcome, "fixed"},
		"loose":               {len(p.Loose), 0},
		"author":              {v.Opened.Author, "Ada"},
		"opened":              {v.Opened.At, start.Add(4 * time.Minute)},
		"history":             {len(p.History("S", "cap-bench", "herm")), 2},
		"visits":              {len(p.VisitsTo("S")), 1},
	} {
		if !reflect.DeepEqual(pair[0], pair[1]) {
			t.Errorf("%s: %v, want %v", what, pair[0], pair[1])
		}
	}
}

func TestWithdraw(t *testing.T) {
	s := opened()
	wrong := s.reading("4.90", "")
	kept := s.reading("45.2", "")
	back := s.add(record.EntryWithdrawn{Visit: "V", Entry: wrong, Why: "wrong terminal"})
	v, _ := s.fold().Visit("V")
	if r, ok := v.Reading(wrong); !ok || r.TakenBack == nil || r.TakenBack.Why != "wrong terminal" {
		t.Errorf("withdrawn reading = %+v: it must stay in sight", r)
	}
	if c := v.Counting(); len(c) != 1 || c[0].ID() != kept {
		t.Errorf("counting readings = %v", c)
	}
	again := s.add(record.EntryWithdrawn{Visit: "V", Entry: back})
	if v, _ := s.fold().Visit("V"); len(v.Counting()) != 2 {
		t.Error("withdrawing the withdrawal did not bring the reading back")
	}
	s.add(record.EntryWithdrawn{Visit: "V", Entry: again})
	if v, _ := s.fold().Visit("V"); len(v.Counting()) != 1 {
		t.Error("the third withdrawal did not take the reading back again")
	}
	s.add(record.EntryWithdrawn{Visit: "V", Entry: wrong}) // a second one of its own
	s.add(record.EntryWithdrawn{Visit: "V", Entry: "01ARZ3NDEKTSV4RRFFQ69G5FAV"})
	p := s.fold()
	if v, _ := p.Visit("V"); len(v.Counting()) != 1 || len(p.Loose) != 1 {
		t.Errorf("%d counting, loose %v", len(v.Counting()), p.Loose)
	}
}

// A withdrawal that comes round to itself must end the folding and be the same
// whatever the order.
func TestWithdrawInACircle(t *testing.T) {
	s := opened()
	a := record.EntryID("00000000000000000000000005") // the two that follow
	b := record.EntryID("00000000000000000000000006")
	if got := s.add(record.EntryWithdrawn{Entry: b}); got != a {
		t.Fatalf("id %s", got)
	}
	s.add(record.EntryWithdrawn{Entry: a})
	s.add(record.EntryWithdrawn{Entry: "00000000000000000000000007"})
	if p := s.fold(); len(p.Visits) != 1 {
		t.Errorf("visits %v", p.Visits)
	}
}

// Taking back a repair joins its epoch with the one before.
func TestEpochs(t *testing.T) {
	s := opened()
	s.reading("1", "")
	first := s.add(record.RepairDone{Visit: "V", Repair: "a"})
	s.reading("2", first)
	second := s.add(record.RepairDone{Visit: "V", Repair: "b"})
	s.reading("3", second)
	s.reading("2.5", first) // entered late
	epochs := func() string {
		v, _ := s.fold().Visit("V")
		var list []string
		for _, r := range v.Readings {
			list = append(list, fmt.Sprintf("%s:%d", r.Text, r.Epoch))
		}
		return strings.Join(list, " ")
	}
	if got := epochs(); got != "1:0 2:1 3:2 2.5:1" {
		t.Errorf("epochs %s", got)
	}
	back := s.add(record.EntryWithdrawn{Visit: "V", Entry: first})
	if got := epochs(); got != "1:0 2:0 3:1 2.5:0" {
		t.Errorf("first repair taken back: epochs %s", got)
	}
	s.add(record.EntryWithdrawn{Visit: "V", Entry: second})
	if got := epochs(); got != "1:0 2:0 3:0 2.5:0" {
		t.Errorf("both taken back: epochs %s", got)
	}
	s.add(record.EntryWithdrawn{Visit: "V", Entry: back})
	if got := epochs(); got != "1:0 2:1 3:1 2.5:1" {
		t.Errorf("first brought back: epochs %s", got)
	}
}

func TestLoose(t *testing.T) {
	s := opened()
	s.add(record.ReadingTaken{Visit: "elsewhere"})
	s.add(record.NameplateRecorded{Unit: "elsewhere"})
	s.add(record.UnitAdded{Unit: "U3", System: "elsewhere"})
	s.add(record.VisitOpened{Visit: "V2", System: "elsewhere"})
	s.add(record.NoteLeft{Text: "nowhere"})
	s.add(record.TaskDone{Task: "elsewhere"})
	s.add(record.PropertyAdded{Property: "another"})
	n := len(s.envelopes)
	s.add(record.NoteLeft{})
	s.envelopes[n].Kind = "of-a-later-program"
	s.add(record.NoteLeft{})
	s.envelopes[n+1].Payload = []byte("{")
	p := s.fold()
	if len(p.Loose) != 9 {
		t.Errorf("%d loose, want 9: %v", len(p.Loose), p.Loose)
	}
	for _, l := range p.Loose {
		if l.Why == "" || l.Entry == "" || l.Kind == "" {
			t.Errorf("loose without reason: %+v", l)
		}
	}
}

// What is referred to may carry a later time: clocks differ.
func TestClocksDiffer(t *testing.T) {
	s := opened()
	s.reading("45.2", "")
	for i := range s.envelopes {
		s.envelopes[i].Time = journal.TimeOf(start.Add(-time.Duration(i) * time.Hour))
	}
	p := s.fold()
	if v, ok := p.Visit("V"); !ok || len(v.Readings) != 1 || len(p.Loose) != 0 {
		t.Errorf("loose %v", p.Loose)
	}
}

func TestUnitMoves(t *testing.T) {
	s := opened()
	s.add(record.SystemAdded{System: "S1", Kind: "split-air-conditioner"})
	s.add(record.UnitAdded{Unit: "U", System: "S1", Kind: "outdoor-unit", Label: "1"})
	p := s.fold()
	u, sys, ok := p.Unit("U")
	if old, _ := p.System("S"); !ok || sys.System != "S1" || u.Label != "1" || len(old.Units) != 0 {
		t.Errorf("unit %+v of %s", u, sys.System)
	}
}

// season writes a long and wild history of n entries from seed.
func season(seed uint64, n int) *script {
	r := rand.New(rand.NewPCG(seed, 3))
	s := &script{}
	var ids []record.EntryID
	pick := func() record.EntryID {
		if len(ids) == 0 || r.IntN(20) == 0 {
			return ""
		}
		return ids[r.IntN(len(ids))]
	}
	name := func(prefix string, of int) string { return fmt.Sprint(prefix, r.IntN(of)) }
	for range n {
		visit, sys := record.VisitID(name("V", 1+n/40)), record.SystemID(name("S", 4))
		unit, task := record.UnitID(name("U", 8)), record.TaskID(name("T", 9))
		var event record.Event
		switch r.IntN(17) {
		case 0:
			event = record.PropertyAdded{Property: house, Name: name("house ", 9)}
		case 1:
			event = record.SystemAdded{System: sys, Name: name("area ", 9)}
		case 2:
			event = record.UnitAdded{Unit: unit, System: sys}
		case 3:
			event = record.NameplateRecorded{Unit: unit, Values: map[string]record.PlateValue{name("field-", 5): {AsRead: record.AsRead{Text: name("", 3)}}}}
		case 4:
			event = record.VisitOpened{Visit: visit, System: sys, Words: name("words ", 9)}
		case 5:
			event = record.SurroundingsRecorded{Visit: visit, Values: map[string]record.AsRead{"outdoor-dry-bulb": {Text: name("", 100), Unit: "°F"}}}
		case 6:
			event = record.RepairDone{Visit: visit, Repair: name("repair-", 5)}
		case 7:
			event = record.PartReplaced{Visit: visit, Repair: pick(), Part: name("part-", 5)}
		case 8:
			event = record.EntryWithdrawn{Visit: visit, Entry: pick()}
		case 9:
			event = record.TaskAdded{Task: task, What: name("what ", 9)}
		case 10:
			event = record.TaskDone{Task: task}
		case 11:
			event = record.NoteLeft{Visit: visit, Unit: unit, Text: name("note ", 99)}
		case 12:
			event = record.HazardNoted{Visit: visit, Hazard: name("hazard-", 3), Over: r.IntN(2) == 0}
		case 13:
			event = record.VisitClosed{Visit: visit, Outcome: "fixed"}
		case 14:
			event = record.LinkFound{System: sys, Link: ChainLinks[r.IntN(4)], Place: name("place ", 5), How: []string{record.ByLabel, "tried"}[r.IntN(2)]}
		default:
			event = record.ReadingTaken{Visit: visit, Check: name("check-", 9), Point: "p", Demand: "cool",
				AsRead: record.AsRead{Text: name("", 999), Unit: "V"}, AfterRepair: pick()}
		}
		ids = append(ids, s.add(event))
	}
	for i := range s.envelopes { // clocks that differ, and equal times
		s.envelopes[i].Time += journal.Time(r.IntN(7)) * journal.Time(time.Minute.Milliseconds()<<16)
	}
	return s
}

// However entries arrive, in whatever order, parts and repetitions, the view
// is the same. Seeds 1 to 20.
func TestArrivalDoesNotMatter(t *testing.T) {
	for seed := range uint64(20) {
		s := season(seed+1, 300)
		want := s.fold()
		r := rand.New(rand.NewPCG(seed, 4))
		for range 5 {
			shuffled := append(slices.Clone(s.envelopes), s.envelopes[:r.IntN(100)]...)
			r.Shuffle(len(shuffled), func(i, j int) { shuffled[i], shuffled[j] = shuffled[j], shuffled[i] })
			if got := Fold(house, shuffled); !reflect.DeepEqual(got, want) {
				t.Fatalf("seed %d: the view depends on the order of arrival", seed+1)
			}
		}
	}
}

// Lists kept while entries trickle in are those made from the whole journal.
func TestListsAreRebuilt(t *testing.T) {
	lines := map[string]int{}
	for seed := range uint64(5) {
		s := season(seed+50, 200)
		log, whole := memlog.New(Summary()), memlog.New(Summary())
		r := rand.New(rand.NewPCG(seed, 5))
		for _, i := range r.Perm(len(s.envelopes)) {
			if err := log.Append(t.Context(), s.envelopes[i:i+1]); err != nil {
				t.Fatal(err)
			}
		}
		if err := whole.Append(t.Context(), s.envelopes); err != nil {
			t.Fatal(err)
		}
		for _, list := range []string{ListProperties, ListVisits, ListOpenVisits, ListTasks, ListWhere} {
			a, err := log.Rows(t.Context(), list, "")
			b, err2 := whole.Rows(t.Context(), list, "")
			if err != nil || err2 != nil || !reflect.DeepEqual(a, b) {
				t.Errorf("seed %d: list %s: %d rows, rebuilt %d rows, %v", seed+50, list, len(a), len(b), err)
			}
			lines[list] += len(b)
		}
	}
	if len(lines) != 5 || slices.Contains(slices.Collect(maps.Values(lines)), 0) {
		t.Errorf("a list stayed empty, so nothing was compared: %v", lines)
	}
}

func TestLists(t *testing.T) {
	s := opened()
	s.add(record.TaskAdded{Task: "T", What: "judge the charge", Due: "2027-05-01"})
	s.add(record.TaskAdded{Task: "T2", What: "some day"})
	s.add(record.VisitOpened{Visit: "V2", System: "S"})
	s.add(record.VisitClosed{Visit: "V", Outcome: "fixed"})
	log := memlog.New(Summary())
	if err := log.Append(t.Context(), s.envelopes); err != nil {
		t.Fatal(err)
	}
	for list, want := range map[string]string{
		ListProperties: `mill house|H={"property":"H","name":"Mill house","systems":1,"last_visit":"2026-07-14T15:07:00Z"}`,
		ListOpenVisits: `2026-07-14T15:07:00Z|V2={"visit":"V2","property":"H","place":"Mill house","system":"S","name":"2 upstairs","opened":"2026-07-14T15:07:00Z"}`,
		ListTasks: `2027-05-01|T={"task":"T","what":"judge the charge","due":"2027-05-01","property":"H","place":"Mill house"}` +
			` 9999-12-31|T2={"task":"T2","what":"some day","property":"H","place":"Mill house"}`,
		ListWhere: `S=H T=H T2=H U=H V=H V2=H`,
	} {
		rows, err := log.Rows(t.Context(), list, "")
		var got []string
		for _, r := range rows {
			got = append(got, r.Key+"="+string(r.Value))
		}
		if g := strings.Join(got, " "); err != nil || g != want {
			t.Errorf("%s:\n%s, %v, want\n%s", list, g, err, want)
		}
	}
}

// Budget: 150 ms for 10,000 entries of one property, more than it will ever
// have; 2 ms for the 150 of a usual one.
func BenchmarkFold(b *testing.B) {
	for _, n := range []int{150, 10_000} {
		b.Run(fmt.Sprint(n), func(b *testing.B) {
			s := season(1, n)
			for b.Loop() {
				s.fold()
			}
		})
	}
}
