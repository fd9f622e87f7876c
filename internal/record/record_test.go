package record

import (
	"bytes"
	"errors"
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"testing"
	"time"

	"rung/internal/journal"
)

var update = flag.Bool("update", false, "write samples of events that have none yet")

// samples holds one filled event of every kind. They are written once, to
// testdata/events, where they stay for ever.
func samples() []Event {
	at := time.Date(2026, 7, 14, 15, 4, 0, 0, time.UTC)
	asRead := AsRead{Text: "4.90", Unit: "µF"}
	advice := Advice{Engine: "1", Verdict: "repair", Causes: []Odds{{Cause: "herm-cap-open", Percent: 93}},
		Unlisted: 2, Repair: "replace-run-capacitor", Next: []string{"cap-bench"}, Readings: 3}
	return []Event{
		PropertyAdded{Property: "P", Name: "Mill house", Address: "1 Mill Road", Contact: "by text", Access: "gate", Elevation: &AsRead{Text: "250", Unit: "ft"}},
		SystemAdded{System: "S", Number: "2", Name: "upstairs", Kind: "split-air-conditioner", Areas: "bedrooms", Proven: "called one thermostat"},
		UnitAdded{Unit: "U", System: "S", Kind: "outdoor-unit", Place: "north side", Label: "2"},
		LinkFound{System: "S", Link: LinkBreaker, Place: "14-16", Unit: "U", How: "breaker-dead", By: "Ada", Note: "main panel"},
		NameplateRecorded{Unit: "U", Values: map[string]PlateValue{"rated-load-amps": {AsRead: AsRead{Text: "14.1", Unit: "A"}, How: "plate"}}},
		VisitOpened{Visit: "V", System: "S", Words: "upstairs stays warm", Complaint: "not-cooling",
			Who: Person{Name: "Ada", Role: "apprentice", Refrigerant: true, Gas: true, Electrician: true, Certificate: "II 123"}, Supervisor: "Ben"},
		SurroundingsRecorded{Visit: "V", Values: map[string]AsRead{"outdoor-dry-bulb": {Text: "95", Unit: "°F"}}, Place: "shade", Instrument: "probe 1"},
		HazardNoted{Visit: "V", Hazard: "water-near-live-parts", Over: true, Note: "mopped up"},
		ReadingTaken{Visit: "V", Check: "cap-bench", Point: "herm", Demand: "off", AsRead: asRead, NotReadable: true, Place: "bench", Instrument: "meter 2",
			By: "Ada", Role: "apprentice", At: &at, Unsettled: true, Doubt: "loose lead", Note: "swollen", AfterRepair: "R"},
		EntryWithdrawn{Visit: "V", Entry: "E", Why: "wrong terminal"},
		CheckRefused{Visit: "V", Check: "esp-total", Point: "return", Demand: "fan", Why: "no-access", AfterRepair: "R"},
		AdviceShown{Visit: "V", Advice: advice, AfterRepair: "R"},
		CauseAccepted{Visit: "V", Cause: "herm-cap-open", Advice: advice, AfterRepair: "R"},
		PartReplaced{Visit: "V", Repair: "R", Unit: "U", Part: "run-capacitor", Out: "45+5 µF 440 V", In: "45+5 µF 440 V",
			Measured: []Measured{{What: "herm", AsRead: asRead}}, Why: "heat and age", Kept: true},
		RepairDone{Visit: "V", Repair: "replace-run-capacitor", Cause: "herm-cap-open", By: "Ada", Note: "and cleaned"},
		ProofTaken{Visit: "V", Mode: "cool", Check: "cap-bench", Point: "herm", Before: &asRead, After: &AsRead{Text: "45.2", Unit: "µF"},
			Expected: "42 to 48 µF", Holds: true, Limited: "cool outdoors", AfterRepair: "R"},
		ChargeNotJudged{Visit: "V", Reasons: []string{"outdoor-below-limit"}, ReturnAbove: &AsRead{Text: "65", Unit: "°F"}, Task: "T"},
		TaskAdded{Task: "T", System: "S", Visit: "V", What: "judge the charge", Due: "2027-05-01", Warmer: &AsRead{Text: "65", Unit: "°F"}, Reason: "charge-not-judged", Who: "Ben"},
		TaskDone{Task: "T", Visit: "V", Note: "done", Dropped: true},
		RecommendationMade{Recommendation: "C", Visit: "V", What: "clean the coil", By: "2027-05-01", Answer: "later"},
		NoteLeft{Visit: "V", Unit: "U", Text: "capacitor replaced"},
		VisitClosed{Visit: "V", Outcome: "fixed", Note: "all well"},
		StatementSettled{About: AboutPlate, Visit: "V", Unit: "U", Field: "fan-amps", Stands: "E", Over: []EntryID{"E", "F"}, Why: "read again"},
		ReportShared{Visit: "V", Token: "c2l4dGVlbiBsZXR0ZXJz"},
		ClosuresCounted{Counts: map[string]float64{"herm-cap-open": 4.5}, Totals: map[string]Total{"minutes/mechanic/Ada/cap-bench": {Count: 4, Sum: -1.5, Squares: 0.75}}},
		LearningSetAside{Why: "the vans changed hands", What: "minutes", Off: true},
		PhotoTaken{Visit: "V", Unit: "U", Check: "cap-bench", Point: "herm", Hash: "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad", Type: "image/jpeg",
			Bytes: 301234, Width: 1600, Height: 1200, Shows: "nameplate", Caption: "swollen at the top", Customer: true},
		PhotoMarked{Photo: "E", Customer: true},
	}
}

func sampleFile(kind string, version int) string {
	return filepath.Join("testdata", "events", fmt.Sprintf("%s.%d.json", kind, version))
}

// TestSamples wants every kind to be written as it always was, and every sample
// ever written to be read in full. A new version gets a new sample and keeps
// the old one.
func TestSamples(t *testing.T) {
	seen := map[string]bool{}
	for _, event := range samples() {
		e := Encode(journal.Envelope{}, event)
		seen[e.Kind] = true
		file := sampleFile(e.Kind, e.Version)
		if _, err := os.Stat(file); errors.Is(err, os.ErrNotExist) && *update {
			if err := os.WriteFile(file, append(e.Payload, '\n'), 0o644); err != nil {
				t.Fatal(err)
			}
		}
		kept, err := os.ReadFile(file)
		if err != nil {
			t.Fatal(err)
		}
		if got := string(e.Payload) + "\n"; got != string(kept) {
			t.Errorf("%s/%d is written as\n%s, was\n%s", e.Kind, e.Version, got, kept)
		}
		e.Payload = kept
		got, err := Decode(e)
		if err != nil || !reflect.DeepEqual(got, event) {
			t.Errorf("%s decodes to\n%+v, %v, want\n%+v", file, got, err, event)
		}
	}
	for kind := range kinds {
		if !seen[kind] {
			t.Errorf("no sample of %s", kind)
		}
	}
}

// TestOldSamples reads every sample there is, also of versions no longer written.
func TestOldSamples(t *testing.T) {
	files, err := filepath.Glob("testdata/events/*.json")
	if err != nil || len(files) < len(kinds) {
		t.Fatalf("%d samples, %v, want at least %d", len(files), err, len(kinds))
	}
	for _, file := range files {
		name, version, _ := strings.Cut(strings.TrimSuffix(filepath.Base(file), ".json"), ".")
		var e journal.Envelope
		e.Kind = name
		fmt.Sscan(version, &e.Version)
		if e.Payload, err = os.ReadFile(file); err != nil {
			t.Fatal(err)
		}
		got, err := Decode(e)
		if _, unknown := got.(Unknown); err != nil || unknown {
			t.Errorf("%s decodes to %+v, %v", file, got, err)
		}
	}
}

// TestSamplesAreFull keeps a field from being left out of the sample, which
// would leave its name unguarded.
func TestSamplesAreFull(t *testing.T) {
	for _, event := range samples() {
		var walk func(v reflect.Value, path string)
		walk = func(v reflect.Value, path string) {
			switch {
			case v.IsZero():
				t.Errorf("%s is empty in its sample", path)
			case v.Kind() == reflect.Struct && v.Type() != reflect.TypeFor[time.Time]():
				for i := range v.NumField() {
					walk(v.Field(i), path+"."+v.Type().Field(i).Name)
				}
			}
		}
		walk(reflect.ValueOf(event), reflect.TypeOf(event).Name())
	}
}

func TestUnknown(t *testing.T) {
	for _, e := range []journal.Envelope{
		{Kind: "of-a-later-program", Version: 1, Payload: []byte("\x00")},
		{Kind: "reading-taken", Version: 99, Payload: []byte(`{}`)},
		{Kind: "reading-taken", Version: 0, Payload: []byte(`{}`)},
	} {
		got, err := Decode(e)
		if want := (Unknown{e.Kind, e.Version}); got != want || err != nil {
			t.Errorf("Decode(%s/%d) = %v, %v, want %v", e.Kind, e.Version, got, err, want)
		}
	}
}

func TestBadPayload(t *testing.T) {
	for _, payload := range []string{"", "null x", `{"text":5}`, "[]"} {
		got, err := Decode(journal.Envelope{Kind: "reading-taken", Version: 1, Payload: []byte(payload)})
		if !errors.Is(err, ErrPayload) || got != nil {
			t.Errorf("Decode(%q) = %v, %v, want ErrPayload", payload, got, err)
		}
	}
}

func TestEncodeOfNoEvent(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("Encode of a string succeeded")
		}
	}()
	Encode(journal.Envelope{}, "reading-taken")
}

// An earlier version is lifted to the one in use.
func TestUpcast(t *testing.T) {
	type lengthInFeet struct{ Feet int }
	type length struct{ Text, Unit string }
	defer func() { delete(kinds, "length"); delete(kindOf, reflect.TypeFor[length]()) }()
	register[length]("length", func(payload []byte) (Event, error) {
		old, err := unmarshal[lengthInFeet](payload)
		if err != nil {
			return nil, err
		}
		return length{fmt.Sprint(old.(lengthInFeet).Feet), "ft"}, nil
	})
	got, err := Decode(journal.Envelope{Kind: "length", Version: 1, Payload: []byte(`{"Feet":12}`)})
	if got != (length{"12", "ft"}) || err != nil {
		t.Errorf("version 1 = %v, %v", got, err)
	}
	e := Encode(journal.Envelope{}, length{"3", "m"})
	if got, err := Decode(e); e.Version != 2 || got != (length{"3", "m"}) || err != nil {
		t.Errorf("version %d = %v, %v, want version 2", e.Version, got, err)
	}
}

// Decode never panics; what it reads is written and read again unchanged.
func FuzzDecode(f *testing.F) {
	for _, event := range samples() {
		e := Encode(journal.Envelope{}, event)
		f.Add(e.Kind, e.Version, e.Payload)
	}
	f.Add("reading-taken", 1, []byte(`{"text":"\u0000\ud800","at":"2026-01-01T00:00:00+14:00"}`))
	f.Fuzz(func(t *testing.T, kind string, version int, payload []byte) {
		event, err := Decode(journal.Envelope{Kind: kind, Version: version, Payload: payload})
		if _, unknown := event.(Unknown); err != nil || unknown {
			return
		}
		first := Encode(journal.Envelope{}, event)
		again, err := Decode(first)
		if err != nil {
			t.Fatalf("%s: written as %s, cannot be read: %v", payload, first.Payload, err)
		}
		if second := Encode(journal.Envelope{}, again); !bytes.Equal(first.Payload, second.Payload) {
			t.Errorf("%s, then %s", first.Payload, second.Payload)
		}
	})
}

func TestPropertyOf(t *testing.T) {
	if p, ok := PropertyOf(PropertyID("X").Stream()); p != "X" || !ok {
		t.Errorf("PropertyOf = %v, %v", p, ok)
	}
	for _, s := range []journal.Stream{"shop", "property/", "truck/2"} {
		if p, ok := PropertyOf(s); ok {
			t.Errorf("PropertyOf(%s) = %v", s, p)
		}
	}
}

// Budget: 10 µs; a property of some years has hundreds of entries.
func BenchmarkDecode(b *testing.B) {
	e := Encode(journal.Envelope{}, samples()[8])
	for b.Loop() {
		if _, err := Decode(e); err != nil {
			b.Fatal(err)
		}
	}
}
