//go:build !js

package exchange

import (
	"encoding/binary"
	"fmt"
	"path/filepath"
	"testing"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/journal/sqlitelog"
	"rung/internal/ledger"
	"rung/internal/record"
)

// season returns the entries of some houses, each with one visit of a hundred
// readings.
func season(prefix string, houses int) []journal.Envelope {
	var list []journal.Envelope
	for h := range houses {
		id := record.PropertyID(fmt.Sprintf("%s%04d", prefix, h))
		add := func(event record.Event) {
			e := journal.Envelope{Stream: id.Stream(), Device: "phone of Ada", Author: "Ada", Time: journal.TimeOf(noon) + journal.Time(len(list))<<16}
			copy(e.ID[:], id)
			binary.BigEndian.PutUint64(e.ID[8:], uint64(len(list)))
			list = append(list, record.Encode(e, event))
		}
		visit := record.VisitID("V" + id)
		add(record.PropertyAdded{Property: id, Name: string(id)})
		add(record.SystemAdded{System: record.SystemID("S" + id), Kind: "split-air-conditioner"})
		add(record.VisitOpened{Visit: visit, System: record.SystemID("S" + id), Words: "stays warm"})
		for i := range 97 {
			add(record.ReadingTaken{Visit: visit, Check: "cap-bench", Point: "herm", Demand: "off", AsRead: record.AsRead{Text: fmt.Sprint(i), Unit: "µF"}})
		}
	}
	return list
}

// office returns one over a file, with the lists of the ledger, that holds these
// entries.
func officeOf(b *testing.B, list []journal.Envelope) *Server {
	b.Helper()
	log, err := sqlitelog.Open(b.Context(), filepath.Join(b.TempDir(), "j.db"), sqlitelog.Options{Summary: ledger.Summary()})
	if err != nil {
		b.Fatal(err)
	}
	b.Cleanup(func() { log.Close() })
	write(b, log, list...)
	return &Server{Log: log, Now: atNoon}
}

// BenchmarkHandOver hands 10,000 entries of 100 houses to an office in a file.
// Budget: 3 s, most of it the lists of the houses.
func BenchmarkHandOver(b *testing.B) {
	list := season("A", 100)
	for b.Loop() {
		b.StopTimer()
		office, phone := officeOf(b, nil), NewClient(memlog.New(journal.Summary{}), &kept{}, "phone", atNoon)
		write(b, phone.log, list...)
		b.StartTimer()
		if done := run(b, phone, wire{office}); done.Sent != len(list) {
			b.Fatal(done)
		}
	}
}

// BenchmarkReceive gives a new phone the 10,000 entries of 100 houses with open
// visits. Budget: 2 s.
func BenchmarkReceive(b *testing.B) {
	office := officeOf(b, season("A", 100))
	for b.Loop() {
		phone := NewClient(memlog.New(journal.Summary{}), &kept{}, "phone", atNoon)
		if done := run(b, phone, wire{office}); done.Received != 10_000 {
			b.Fatal(done)
		}
	}
}

// BenchmarkOneReading hands over one entry, as after every reading, to an office
// with 10,000 others. Budget: 30 ms without the network.
func BenchmarkOneReading(b *testing.B) {
	office := officeOf(b, season("A", 100))
	phone := NewClient(memlog.New(journal.Summary{}), &kept{}, "phone", atNoon)
	run(b, phone, wire{office})
	more := season("A", 1)[3]
	for n := 0; b.Loop(); n++ {
		binary.BigEndian.PutUint64(more.ID[8:], 1<<32+uint64(n))
		write(b, phone.log, more)
		run(b, phone, wire{office})
	}
}

// BenchmarkStatus tells a page how many entries wait. Budget: 0.1 ms once they
// were counted.
func BenchmarkStatus(b *testing.B) {
	phone := NewClient(memlog.New(journal.Summary{}), &kept{}, "phone", atNoon)
	write(b, phone.log, season("A", 100)...)
	for b.Loop() {
		if s := status(b, phone); s.Waiting != 10_000 {
			b.Fatal(s)
		}
	}
}
