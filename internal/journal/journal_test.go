package journal

import (
	"bytes"
	"crypto/rand"
	"encoding/json"
	"errors"
	"slices"
	"strings"
	"testing"
	"time"
)

var noon = time.Date(2026, 7, 14, 12, 0, 0, 0, time.UTC)

// published: ULID specification, section "Canonical String Representation" and
// its largest value; the example 01ARZ3NDEKTSV4RRFFQ69G5FAV stands there.
func TestIDText(t *testing.T) {
	for text, first := range map[string]byte{
		"01ARZ3NDEKTSV4RRFFQ69G5FAV": 0x01,
		"7ZZZZZZZZZZZZZZZZZZZZZZZZZ": 0xff,
		"00000000000000000000000001": 0,
	} {
		id, err := ParseID(text)
		if err != nil || id.String() != text || id[0] != first {
			t.Errorf("ParseID(%s) = %x, %v, prints %s", text, id[:], err, id)
		}
		if lower, err := ParseID(strings.ToLower(text)); err != nil || lower != id {
			t.Errorf("ParseID of lower case = %v, %v", lower, err)
		}
	}
	for _, bad := range []string{"", "01ARZ3NDEKTSV4RRFFQ69G5FA", "81ARZ3NDEKTSV4RRFFQ69G5FAV", "01ARZ3NDEKTSV4RRFFQ69G5FAU", "01ARZ3NDEKTSV4RRFFQ69G5FAé"} {
		if id, err := ParseID(bad); !errors.Is(err, ErrID) {
			t.Errorf("ParseID(%q) = %v, %v, want ErrID", bad, id, err)
		}
	}
}

func TestIDInJSON(t *testing.T) {
	type two struct {
		A ID
		B ID `json:",omitzero"`
	}
	in := two{A: ID{1, 2, 3}}
	b, err := json.Marshal(in)
	var out two
	if err2 := json.Unmarshal(b, &out); err != nil || err2 != nil || out != in {
		t.Errorf("%s: %v, %v", b, err, err2)
	}
	if err := json.Unmarshal([]byte(`{"A":"short"}`), &out); !errors.Is(err, ErrID) {
		t.Errorf("Unmarshal of a short id = %v, want ErrID", err)
	}
}

func TestIDsRise(t *testing.T) {
	now := noon
	s := NewIDSource(func() time.Time { return now }, rand.Reader)
	var ids []string
	for i := range 2000 {
		switch {
		case i == 1000:
			now = now.Add(-time.Hour) // somebody set the clock back
		case i%100 == 0:
			now = now.Add(time.Millisecond)
		}
		ids = append(ids, s.Next().String())
	}
	if !slices.IsSorted(ids) || len(slices.Compact(ids)) != 2000 {
		t.Error("ids do not rise")
	}
	id, _ := ParseID(ids[0])
	if got := id.Time(); !got.Equal(noon.Add(time.Millisecond)) {
		t.Errorf("Time = %v", got)
	}
}

func TestIDNeedsRandom(t *testing.T) {
	defer func() {
		if recover() == nil {
			t.Error("Next without random bits returned an id")
		}
	}()
	NewIDSource(func() time.Time { return noon }, bytes.NewReader(nil)).Next()
}

func TestClockRises(t *testing.T) {
	now := noon
	c := NewClock(func() time.Time { return now })
	last := c.Next()
	for i := range 200_000 { // more than the counter of one millisecond holds
		if i == 100_000 {
			now = now.Add(-time.Hour)
		}
		next := c.Next()
		if next <= last {
			t.Fatalf("%v after %v", next, last)
		}
		last = next
	}
	if drift := last.Wall().Sub(noon); drift > 5*time.Millisecond {
		t.Errorf("clock ran ahead by %v", drift)
	}
}

func TestClockObserves(t *testing.T) {
	c := NewClock(func() time.Time { return noon })
	hourAhead := TimeOf(noon.Add(time.Hour))
	if !c.Observe(hourAhead) || c.Next() <= hourAhead {
		t.Error("what follows an observed time must sort after it")
	}
	if c.Observe(TimeOf(noon.Add(MaxAhead+time.Second))) || c.Next() > hourAhead+10 {
		t.Error("a time more than a day ahead raised the clock")
	}
	if !c.Observe(1) || c.Next() <= hourAhead {
		t.Error("an old time must not lower the clock")
	}
}

func TestDerive(t *testing.T) {
	id, other := ID{1, 2, 3, 4, 5, 6, 7}, ID{1, 2, 3, 4, 5, 6, 8}
	seen := map[ID]bool{}
	for n := range 100 {
		for _, from := range []ID{id, other} {
			d := from.Derive(n)
			if seen[d] || d != from.Derive(n) || d.Time() != from.Time() {
				t.Errorf("Derive(%d) = %v", n, d)
			}
			seen[d] = true
		}
	}
	if id.Derive(0) != id {
		t.Error("Derive(0) is not the id itself")
	}
}
