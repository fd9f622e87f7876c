package exchange

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"math/rand/v2"
	"reflect"
	"slices"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/record"
)

// houses are those of a random history.
var houses = []record.PropertyID{"A", "B"}

// device is a phone of a history.
type device struct {
	*Client
	log   *faulty
	clock *journal.Clock
	name  string
}

// history is a shop of five phones and an office, with everything that goes
// wrong between them. The seed decides all.
type history struct {
	t      *testing.T
	r      *rand.Rand
	now    time.Time
	office *Server
	phones []*device
	n      uint64
	late   [][]byte // requests that wander about and arrive some time
	acked  map[journal.ID]bool
	wrote  []journal.Envelope
}

func newHistory(t *testing.T, seed uint64) *history {
	h := &history{t: t, r: rand.New(rand.NewPCG(seed, 7)), now: noon, acked: map[journal.ID]bool{}}
	h.office = &Server{Log: memlog.New(journal.Summary{}), Now: func() time.Time { return h.now }, room: room{1 + h.r.IntN(6), MaxBytes}}
	h.office.Policy = func(context.Context, string, []journal.Stream) (map[journal.Stream]bool, error) {
		carried := map[journal.Stream]bool{}
		for _, p := range houses {
			carried[p.Stream()] = h.r.IntN(3) > 0 // visits open and close
		}
		return carried, nil
	}
	for i := range 5 {
		d := &device{log: &faulty{Log: memlog.New(journal.Summary{})}, name: fmt.Sprint("phone-", i)}
		off := time.Duration(h.r.IntN(7200)-3600) * time.Second // phones' clocks differ
		d.clock = journal.NewClock(func() time.Time { return h.now.Add(off) })
		d.Client = NewClient(d.log, &forgetful{r: h.r}, d.name, func() time.Time { return h.now })
		d.Client.room = room{1 + h.r.IntN(6), MaxBytes}
		h.phones = append(h.phones, d)
	}
	return h
}

// forgetful is a keeper that loses what was saved now and then, as a program
// does that is stopped between the journal and the state.
type forgetful struct {
	kept
	r *rand.Rand
}

func (f *forgetful) Save(ctx context.Context, text []byte) error {
	if f.r != nil && f.r.IntN(8) == 0 {
		return nil
	}
	return f.kept.Save(ctx, text)
}

// Post implements Transport: requests and answers get lost, come twice, and
// come late.
func (h *history) Post(ctx context.Context, body []byte) (int, []byte, error) {
	office := wire{h.office}
	for len(h.late) > 0 && h.r.IntN(3) == 0 {
		i := h.r.IntN(len(h.late))
		office.Post(ctx, h.late[i]) // its answer finds nobody
		h.late = slices.Delete(h.late, i, i+1)
	}
	switch h.r.IntN(8) {
	case 0: // lost on the way there
		return 0, nil, errors.New("lost")
	case 1: // late
		h.late = append(h.late, bytes.Clone(body))
		return 0, nil, errors.New("timed out")
	case 2: // lost on the way back
		office.Post(ctx, body)
		return 0, nil, errors.New("lost")
	case 3: // twice, the first answer counts
		status, answer, err := office.Post(ctx, body)
		office.Post(ctx, body)
		return status, answer, err
	case 4: // twice, the second answer counts
		office.Post(ctx, body)
	}
	return office.Post(ctx, body)
}

// write lets a phone record something.
func (h *history) write(d *device) {
	h.n++
	p := houses[h.r.IntN(len(houses))]
	e := journal.Envelope{Stream: p.Stream(), Device: d.name, Author: d.name, Time: d.clock.Next()}
	e.ID[0], e.ID[1], e.ID[14], e.ID[15] = byte(h.r.IntN(256)), byte(h.r.IntN(256)), byte(h.n>>8), byte(h.n)
	e = record.Encode(e, h.event(p))
	if h.r.IntN(20) == 0 {
		e.Kind, e.Version = "of-a-later-program", 3
	}
	if err := d.log.Append(h.t.Context(), []journal.Envelope{e}); err == nil {
		h.acked[e.ID] = true
		h.wrote = append(h.wrote, e)
	}
}

// event returns something that happened to a house.
func (h *history) event(p record.PropertyID) record.Event {
	pick := func(list ...string) string { return list[h.r.IntN(len(list))] }
	visit, unit := record.VisitID(pick("V1", "V2")), record.UnitID(pick("U1", "U2"))
	earlier := record.EntryID("")
	if len(h.wrote) > 0 {
		earlier = record.EntryID(h.wrote[h.r.IntN(len(h.wrote))].ID.String())
	}
	value := record.AsRead{Text: fmt.Sprint(h.r.IntN(4)), Unit: "A"}
	switch h.r.IntN(13) {
	case 0:
		return record.PropertyAdded{Property: p, Name: pick("Mill house", "The mill")}
	case 1:
		return record.SystemAdded{System: "S", Number: "1", Kind: "split-air-conditioner"}
	case 2:
		return record.UnitAdded{Unit: unit, System: "S", Kind: "outdoor-unit", Place: pick("left", "right")}
	case 3:
		return record.VisitOpened{Visit: visit, System: "S"}
	case 4:
		return record.NameplateRecorded{Unit: unit, Values: map[string]record.PlateValue{pick("fan-amps", "rated-load-amps"): {AsRead: value}}}
	case 5:
		return record.RepairDone{Visit: visit, Repair: pick("replace-run-capacitor", "replace-contactor")}
	case 6:
		return record.EntryWithdrawn{Visit: visit, Entry: earlier}
	case 7:
		return record.VisitClosed{Visit: visit, Outcome: pick("fixed", "returning")}
	case 9:
		return record.StatementSettled{About: record.AboutPlate, Unit: unit, Field: "fan-amps", Stands: earlier, Over: []record.EntryID{earlier}}
	case 8:
		return record.PartReplaced{Visit: visit, Repair: earlier, Part: "run-capacitor", In: pick("45/5", "35/5")}
	}
	return record.ReadingTaken{Visit: visit, Check: "cap-bench", Point: "herm", Demand: "off", AsRead: value, AfterRepair: earlier}
}

// live lets things happen.
func (h *history) live(steps int) {
	for range steps {
		h.now = h.now.Add(time.Duration(h.r.IntN(300)) * time.Second)
		d := h.phones[h.r.IntN(len(h.phones))]
		switch h.r.IntN(4) {
		case 0:
			d.Run(h.t.Context(), h) // as far as it gets
		case 1:
			if h.r.IntN(4) == 0 { // a file from one phone to another, without the office
				if err := h.handFile(d, h.phones[h.r.IntN(len(h.phones))]); err != nil {
					h.t.Fatal(err)
				}
			}
			fallthrough
		default:
			h.write(d)
		}
	}
}

// handFile takes what waits on a phone to another one.
func (h *history) handFile(from, to *device) error {
	list, err := from.Waiting(h.t.Context())
	if err != nil {
		return err
	}
	var file bytes.Buffer
	if err := WriteBundle(&file, Bundle{Device: from.name, Made: h.now, Entries: list}); err != nil {
		return err
	}
	b, err := ReadBundle(&file)
	if err != nil {
		return err
	}
	_, err = TakeIn(h.t.Context(), to.log, b.Entries, h.now)
	return err
}

// settle lets all exchange without trouble until all have everything; mostly in
// large batches, to save time.
func (h *history) settle() {
	h.office.Policy = carryAll(h.office.Log)
	if h.r.IntN(4) > 0 {
		h.office.room = full
		for _, d := range h.phones {
			d.Client.room = full
		}
	}
	for range 2 {
		for _, d := range h.phones {
			d.log.left = 0
			d.keeper.(*forgetful).r = nil
			if _, err := d.Run(h.t.Context(), wire{h.office}); err != nil {
				h.t.Fatal(err)
			}
		}
	}
}

// alike wants every phone to hold what the office holds, to show the same, and
// everything that was acknowledged to be there.
func (h *history) alike() {
	h.t.Helper()
	want := all(h.t, h.office.Log)
	there := map[journal.ID]bool{}
	for _, e := range want {
		there[e.ID] = true
	}
	for id := range h.acked {
		if !there[id] {
			h.t.Errorf("entry %s was acknowledged and is lost", id)
		}
	}
	for _, d := range h.phones {
		holds(h.t, d.log, want)
		for _, p := range houses {
			if mine, theirs := fold(h.t, d.log, p), fold(h.t, h.office.Log, p); !reflect.DeepEqual(mine, theirs) {
				h.t.Errorf("%s shows another %s than the office", d.name, p)
			}
		}
		if s := status(h.t, d.Client); s.Waiting != 0 {
			h.t.Errorf("%s: %+v", d.name, s)
		}
	}
}

func fold(t testing.TB, log journal.Log, p record.PropertyID) *ledger.Property {
	t.Helper()
	list, err := log.Stream(context.Background(), p.Stream())
	if err != nil {
		t.Fatal(err)
	}
	return ledger.Fold(p, list)
}

// TestHistories: whatever is lost, comes twice or comes in another order among
// five phones, in the end all show the same, and nothing written is missing.
func TestHistories(t *testing.T) {
	const histories = 1000
	entries := 0
	for seed := range uint64(histories) {
		h := newHistory(t, seed)
		h.live(40)
		h.settle()
		h.alike()
		entries += len(h.acked)
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
	if entries < 10*histories {
		t.Errorf("only %d entries in %d histories: nothing is shown by that", entries, histories)
	}
	t.Logf("%d histories, %d entries", histories, entries)
}

// errStopped is what a stopped phone says.
var errStopped = errors.New("the battery is empty")

// faulty is a journal that stops the phone at its left-th appending from now,
// if left is not 0: before it is kept, or after that and before anybody hears
// of it. Once stopped, nothing works until it is started again.
type faulty struct {
	journal.Log
	left    int
	after   bool
	stopped bool
}

func (f *faulty) Append(ctx context.Context, batch []journal.Envelope) error {
	if f.stopped {
		return errStopped
	}
	if f.left > 0 {
		if f.left--; f.left == 0 {
			f.stopped = true
			if f.after {
				if err := f.Log.Append(ctx, batch); err != nil {
					return err
				}
			}
			return errStopped
		}
	}
	return f.Log.Append(ctx, batch)
}

// dying is a keeper that stops with its journal; before or after is decided by
// chance.
type dying struct {
	*forgetful
	log *faulty
}

func (d dying) Save(ctx context.Context, text []byte) error {
	if d.log.stopped {
		return errStopped
	}
	return d.forgetful.Save(ctx, text)
}

// TestStops stops phones at 10,000 places of appending and saving, starts them
// again over what they had kept, and wants nothing that was acknowledged lost.
func TestStops(t *testing.T) {
	const want = 10_000
	stops := 0
	for seed := uint64(0); stops < want; seed++ {
		h := newHistory(t, 1<<32+seed)
		for range 60 {
			d := h.phones[h.r.IntN(len(h.phones))]
			d.log.left, d.log.after = 1+h.r.IntN(3), h.r.IntN(2) == 0
			d.keeper = dying{&forgetful{kept: kept{text: stateOf(t, d)}, r: h.r}, d.log}
			for range 1 + h.r.IntN(3) {
				h.write(d)
			}
			d.Run(t.Context(), h)
			if d.log.stopped {
				stops++
				d.log.stopped, d.log.left = false, 0
				old := d.Client
				d.Client = NewClient(d.log, &forgetful{kept: kept{text: stateOf(t, d)}, r: h.r}, d.name, old.now)
				d.Client.room = old.room
			} else {
				d.keeper = &forgetful{kept: kept{text: stateOf(t, d)}, r: h.r}
			}
		}
		h.settle()
		h.alike()
		if t.Failed() {
			t.Fatalf("seed %d", seed)
		}
	}
	t.Logf("%d stops", stops)
}

// stateOf returns what the keeper of a phone has.
func stateOf(t *testing.T, d *device) []byte {
	t.Helper()
	text, err := d.keeper.Load(t.Context())
	if err != nil {
		t.Fatal(err)
	}
	return text
}
