//go:build !js

package exchange

import (
	"path/filepath"
	"strings"
	"testing"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/journal/sqlitelog"
)

// small opens a journal in a file that may not grow beyond some pages.
func small(t *testing.T, file string, pages int) *sqlitelog.Log {
	t.Helper()
	log, err := sqlitelog.Open(t.Context(), file, sqlitelog.Options{MaxPages: pages})
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { log.Close() })
	return log
}

// bulky returns entries that fill a small journal.
func bulky(stream string, n int) []journal.Envelope {
	list := entries(stream, 0, n)
	for i := range list {
		list[i].Payload = make([]byte, 3000)
	}
	return list
}

// TestOfficeFull: an office without room says so, acknowledges nothing that it
// does not have, and gets all once there is room.
func TestOfficeFull(t *testing.T) {
	file := filepath.Join(t.TempDir(), "j.db")
	log := small(t, file, 300)
	office := &Server{Log: log, Now: atNoon, Policy: carryAll(log)}
	phone := NewClient(memlog.New(journal.Summary{}), &kept{}, "phone", atNoon)
	phone.room = room{20, MaxBytes}
	write(t, phone.log, bulky("property/A", 400)...)
	if _, err := phone.Run(t.Context(), wire{office}); err == nil {
		t.Fatal("a full office took everything")
	}
	s := status(t, phone)
	there := all(t, log)
	if !strings.HasPrefix(s.Problem, "The office has no room left.") || s.Waiting != 400-len(there) || len(there) < 20 {
		t.Errorf("%+v, and %d entries at the office", s, len(there))
	}
	log.Close()
	log = small(t, file, 0)
	office.Log, office.Policy = log, carryAll(log)
	run(t, phone, wire{office})
	holds(t, log, all(t, phone.log))
	if s := status(t, phone); s.Waiting != 0 || s.Problem != "" {
		t.Errorf("with room: %+v", s)
	}
}

// TestPhoneFull: a phone without room still hands over what it has, says what is
// the matter, and gets the rest once there is room.
func TestPhoneFull(t *testing.T) {
	file := filepath.Join(t.TempDir(), "j.db")
	office, _ := pair()
	office.room = room{20, MaxBytes}
	write(t, office.Log, bulky("property/B", 400)...)
	log, keeper := small(t, file, 300), &kept{}
	phone := NewClient(log, keeper, "phone", atNoon)
	write(t, log, entry("property/A", 1))
	if _, err := phone.Run(t.Context(), wire{office}); err == nil {
		t.Fatal("a full phone took everything")
	}
	if s := status(t, phone); s.Waiting != 0 || !strings.HasPrefix(s.Problem, "This device has no room") {
		t.Errorf("%+v", s)
	}
	if list, _ := office.Log.Stream(t.Context(), "property/A"); len(list) != 1 {
		t.Error("what the full phone had was not handed over")
	}
	log.Close()
	log = small(t, file, 0)
	phone = NewClient(log, keeper, "phone", atNoon)
	run(t, phone, wire{office})
	holds(t, log, all(t, office.Log))
}
