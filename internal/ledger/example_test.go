package ledger_test

import (
	"bytes"
	"context"
	"fmt"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/record"
)

// A reading is written down, taken back, and stays in sight; what a mechanic
// sees is folded from the entries.
func ExampleFold() {
	noon := func() time.Time { return time.Date(2026, 7, 14, 12, 0, 0, 0, time.UTC) }
	clock := journal.NewClock(noon)
	ids := journal.NewIDSource(noon, bytes.NewReader(make([]byte, 1000))) // in earnest crypto/rand.Reader
	log := memlog.New(ledger.Summary())
	house := record.PropertyID("01J2QH0000000000000000MILL")

	write := func(event record.Event) record.EntryID {
		e := record.Encode(journal.Envelope{
			ID: ids.Next(), Stream: house.Stream(), Device: "phone", Author: "Ada", Time: clock.Next(),
		}, event)
		if err := log.Append(context.Background(), []journal.Envelope{e}); err != nil {
			panic(err)
		}
		return record.EntryID(e.ID.String())
	}
	write(record.PropertyAdded{Property: house, Name: "Mill house"})
	write(record.SystemAdded{System: "S", Number: "2", Name: "upstairs", Kind: "split-air-conditioner"})
	write(record.VisitOpened{Visit: "V", System: "S", Words: "upstairs stays warm"})
	slip := write(record.ReadingTaken{Visit: "V", Check: "cap-bench", Point: "fan", Demand: "off", AsRead: record.AsRead{Text: "4.90", Unit: "µF"}})
	write(record.ReadingTaken{Visit: "V", Check: "cap-bench", Point: "herm", Demand: "off", AsRead: record.AsRead{Text: "4.90", Unit: "µF"}})
	write(record.EntryWithdrawn{Visit: "V", Entry: slip, Why: "that was the other section"})

	entries, err := log.Stream(context.Background(), house.Stream())
	if err != nil {
		panic(err)
	}
	p := ledger.Fold(house, entries)
	for _, r := range p.Visits[0].Readings {
		fmt.Print(r.Point, " ", r.Text, " ", r.Unit)
		if r.TakenBack != nil {
			fmt.Print(", taken back: ", r.TakenBack.Why)
		}
		fmt.Println()
	}
	// Output:
	// fan 4.90 µF, taken back: that was the other section
	// herm 4.90 µF
}
