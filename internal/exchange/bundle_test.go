package exchange

import (
	"bytes"
	"errors"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"rsc.io/qr"
	"rsc.io/qr/coding"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/record"
)

func bundle(t testing.TB, list []journal.Envelope) []byte {
	t.Helper()
	var file bytes.Buffer
	if err := WriteBundle(&file, Bundle{Device: "phone", Made: noon, Entries: list}); err != nil {
		t.Fatal(err)
	}
	return file.Bytes()
}

// TestBundle: what is handed to another phone as a file comes to the office from
// there, once, however often it is taken in.
func TestBundle(t *testing.T) {
	office, first := pair()
	second := NewClient(memlog.New(journal.Summary{}), &kept{}, "second", atNoon)
	odd := entry("property/A", 2000)
	odd.Kind, odd.Version, odd.Payload = "of-a-later-program", 9, []byte{0xff, 0, '\n'}
	list := append(entries("property/A", 0, 1200), odd)
	write(t, first.log, list...)
	waiting, err := first.Waiting(t.Context())
	if err != nil || len(waiting) != 1201 {
		t.Fatalf("%d entries wait, %v", len(waiting), err)
	}
	file := bundle(t, waiting)
	for range 2 {
		b, err := ReadBundle(bytes.NewReader(file))
		if err != nil || b.Device != "phone" || !b.Made.Equal(noon) {
			t.Fatalf("%+v, %v", b.Device, err)
		}
		in, err := TakeIn(t.Context(), second.log, b.Entries, noon)
		if err != nil || in.Kept != 1201 || in.Flagged != nil {
			t.Fatalf("%+v, %v", in, err)
		}
	}
	if s := status(t, second); s.Waiting != 1201 {
		t.Errorf("%d entries wait on the second phone: it hands them over", s.Waiting)
	}
	run(t, second, wire{office})
	holds(t, office.Log, list)
	run(t, first, wire{office})
	holds(t, first.log, list)
	holds(t, office.Log, list)
}

func TestTakeInFlags(t *testing.T) {
	log := memlog.New(journal.Summary{})
	known, other := entry("property/A", 1), entry("property/A", 1)
	other.Payload = []byte("other")
	late, bad := entry("property/A", 2), entry("property/A", 3)
	late.Time, bad.Kind = journal.TimeOf(noon.AddDate(1, 0, 0)), ""
	write(t, log, known)
	in, err := TakeIn(t.Context(), log, []journal.Envelope{other, late, bad, entry("office/users", 1), entry("property/A", 4)}, noon)
	if got := whys(in.Flagged); err != nil || in.Kept != 2 || !slices.Equal(got, []Why{NotTaken, Differs, Invalid, Ahead}) {
		t.Errorf("%+v, %v", in, err)
	}
	holds(t, log, []journal.Envelope{known, late, entry("property/A", 4)})
}

func TestTornBundle(t *testing.T) {
	file := bundle(t, entries("property/A", 0, 50))
	for cut := 0; cut < len(file); cut += 1 + len(file)/97 {
		if _, err := ReadBundle(bytes.NewReader(file[:cut])); !errors.Is(err, ErrBundle) {
			t.Errorf("the first %d of %d bytes: %v, want ErrBundle", cut, len(file), err)
		}
	}
	r := rand.New(rand.NewPCG(1, 1))
	whole, _ := ReadBundle(bytes.NewReader(file))
	for range 500 {
		torn := slices.Clone(file)
		torn[10+r.IntN(len(torn)-10)] ^= byte(1 + r.IntN(255)) // behind the head, which has no checksum
		if b, err := ReadBundle(bytes.NewReader(torn)); err == nil && !slices.EqualFunc(b.Entries, whole.Entries, journal.Equal) {
			t.Fatal("a damaged file was read as another one")
		}
	}
	if _, err := ReadBundle(strings.NewReader("PK\x03\x04")); !errors.Is(err, ErrBundle) {
		t.Errorf("another file: %v", err)
	}
}

func TestGather(t *testing.T) {
	log := memlog.New(journal.Summary{})
	write(t, log, entry("property/A", 1), entry("property/B", 1), entry("office/users", 1))
	if all, err := Gather(t.Context(), log, ""); err != nil || len(all) != 2 {
		t.Errorf("all: %d, %v", len(all), err)
	}
	if one, err := Gather(t.Context(), log, "property/A"); err != nil || len(one) != 1 {
		t.Errorf("one: %d, %v", len(one), err)
	}
	if _, err := Gather(t.Context(), log, "office/users"); err == nil {
		t.Error("what stays at the office was gathered")
	}
}

// visitEntries are those of a usual visit of n entries.
func visitEntries(n int) []journal.Envelope {
	r := rand.New(rand.NewPCG(5, 5))
	var list []journal.Envelope
	for i := range n {
		e := journal.Envelope{Stream: "property/01J2QH0000000000000000MILL", Device: "phone of Ada", Author: "Ada", Time: journal.TimeOf(noon) + journal.Time(i)<<32}
		for j := range e.ID {
			e.ID[j] = byte(r.IntN(256))
		}
		e.ID[0], e.ID[1] = 1, 0x9f
		list = append(list, record.Encode(e, record.ReadingTaken{Visit: "01J2QH000000000000000VISIT", Check: "cap-bench", Point: "herm", Demand: "off",
			AsRead: record.AsRead{Text: "4" + string(rune('0'+i%10)), Unit: "µF"}}))
	}
	return list
}

// TestCodes: a visit goes from screen to camera, in any order, with codes read
// twice, cut short, and of another bundle among them.
func TestCodes(t *testing.T) {
	want := visitEntries(60)
	texts, mark, err := Codes(Bundle{Device: "phone", Made: noon, Entries: want})
	if err != nil || mark == "" {
		t.Fatal(err)
	}
	t.Logf("60 entries make %d codes", len(texts))
	if len(texts) > 10 {
		t.Errorf("60 entries make %d codes", len(texts))
	}
	for _, text := range texts {
		code, err := qr.Encode(text, qr.M)
		if err != nil || code.Size > 81 { // of a screen of 390 points: four to a module
			t.Errorf("a code of %d modules, %v", code.Size, err)
		}
		if coding.Alpha(text).Check() != nil {
			t.Errorf("%.60s… holds other characters than the compact ones", text)
		}
	}
	other, _, _ := Codes(Bundle{Device: "phone", Made: noon, Entries: want[:5]})
	r := rand.New(rand.NewPCG(2, 2))
	pasted := append(slices.Clone(texts), texts[0], texts[1][:200], other[0], "nonsense")
	pasted = append(pasted, strings.ToLower(texts[2]))
	r.Shuffle(len(pasted)-1, func(i, j int) { pasted[i+1], pasted[j+1] = pasted[j+1], pasted[i+1] })
	b, c, err := Collect(strings.Join(pasted, "\n "))
	if err != nil || c.Missing != nil || c.Damaged != 2 || c.Foreign != 1 || !slices.EqualFunc(b.Entries, want, journal.Equal) {
		t.Errorf("%d entries, %+v, %v", len(b.Entries), c, err)
	}
	b, c, err = Collect(texts[0] + " " + texts[3])
	if err != nil || b.Entries != nil || c.Of != len(texts) || !slices.Equal(c.Missing[:2], []int{2, 3}) {
		t.Errorf("two of them: %+v, %v", c, err)
	}
	if _, c, err := Collect("nothing of ours"); err != nil || c.Of != 0 || c.Damaged != 3 {
		t.Errorf("%+v, %v", c, err)
	}
	if _, _, err := Codes(Bundle{Entries: visitEntries(2000)}); !errors.Is(err, ErrTooMany) {
		t.Errorf("2,000 entries: %v", err)
	}
	// The parts of one bundle under the marks of another.
	forged := codeOf("AAAAAAAA", 1, 1, "MFRGG")
	if _, _, err := Collect(forged); !errors.Is(err, ErrBundle) {
		t.Errorf("a forged code: %v", err)
	}
}

// What pasted text makes of itself, never a panic.
func FuzzCollect(f *testing.F) {
	texts, _, _ := Codes(Bundle{Entries: visitEntries(3)})
	f.Add(strings.Join(texts, " "))
	f.Add("RUNG1:A:1/1:B:C")
	f.Add("RUNG1::0/0::")
	f.Fuzz(func(t *testing.T, text string) {
		b, c, err := Collect(text)
		if err == nil && c.Of > 0 && c.Missing == nil {
			again, _, err := Collect(strings.Join(c.Texts, " "))
			if err != nil || !slices.EqualFunc(again.Entries, b.Entries, journal.Equal) {
				t.Errorf("collected again: %v", err)
			}
		}
	})
}
