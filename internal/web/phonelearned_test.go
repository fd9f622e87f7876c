package web

import (
	"fmt"
	"math/rand/v2"
	"net/http/httptest"
	"strings"
	"testing"
	"time"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/record"
)

// TestLearnedFitsAPhone reads on the screen of a phone what the shop's calls
// taught, sets it aside and counts again, with a thumb and without a script.
func TestLearnedFitsAPhone(t *testing.T) {
	server := httptest.NewServer(newServer(t, nil).Handler())
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL).withoutScripts()
	p.open("/learned").says("h1", "What your calls taught").says("table.numbers", "Base")
	p.open("/learned?kind=gas-furnace")
	p.open("/learned").fill("why", "other equipment").press("Count from today on").says("[role=status]", "from today on").says(".doubt", "other equipment")
	p.press("Give these counts to the phones").says("[role=status]", "next exchange")
	p.press("Count the earlier calls again").says("[role=status]", "count again")
	p.open("/learned").fill("what", ageOff).fill("why", "no faith in it").press("Count from today on").says("[role=status]", "Calls count")
	p.press("Count again: age").says("[role=status]", "count again")
}

// TestForecastFitsAPhone reads on the page of a unit where its capacitor is
// going, and recommends a new one to the customer.
func TestForecastFitsAPhone(t *testing.T) {
	log := memlog.New(ledger.Summary())
	var now time.Time
	ids := journal.NewIDSource(func() time.Time { return now }, rand.NewChaCha8([32]byte{9}))
	add := func(event record.Event) {
		now = now.Add(time.Minute)
		e := journal.Envelope{ID: ids.Next(), Stream: record.PropertyID("H").Stream(), Device: "phone", Author: "Ada", Time: journal.TimeOf(now)}
		if err := log.Append(t.Context(), []journal.Envelope{record.Encode(e, event)}); err != nil {
			t.Fatal(err)
		}
	}
	now = time.Date(2023, 6, 1, 9, 0, 0, 0, time.UTC)
	add(record.PropertyAdded{Property: "H", Name: "12 Sample Lane"})
	add(record.SystemAdded{System: "S", Number: "2", Name: "upstairs", Kind: "split-air-conditioner"})
	add(record.UnitAdded{Unit: "U", System: "S", Kind: "outdoor-unit", Place: "north side"})
	add(record.NameplateRecorded{Unit: "U", Values: map[string]record.PlateValue{"herm-capacitance": {AsRead: record.AsRead{Text: "45", Unit: "µF"}}}})
	for i, read := range []string{"45.0", "44.1", "42.9", "42.0"} {
		v := record.VisitID(fmt.Sprint("V", i))
		now = time.Date(2023+i, 7, 1, 9, 0, 0, 0, time.UTC)
		add(record.VisitOpened{Visit: v, System: "S", Complaint: "weak-cooling", Who: record.Person{Name: "Ada"}})
		add(record.ReadingTaken{Visit: v, Check: "cap-bench", Point: "herm", Demand: "off", AsRead: record.AsRead{Text: read, Unit: "µF"}})
		if i < 3 {
			add(record.VisitClosed{Visit: v, Outcome: "fixed"})
		}
	}
	server := httptest.NewServer(newServerOf(t, "Ada", log, nil).Handler())
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL).withoutScripts()
	p.open("/units/U").says(".trend + .hint", "1 May 2027").says("p.doubt", "assumed").follow("Recommend it").says("h1", "Recommendation")
	p.press("Record recommendation").says("[role=status]", "ecommendation")
	envelopes, err := log.Stream(t.Context(), record.PropertyID("H").Stream())
	if err != nil {
		t.Fatal(err)
	}
	if list := ledger.Fold("H", envelopes).Recommendations; len(list) != 1 || !strings.HasPrefix(list[0].What, "Replace the run capacitor before the next season") {
		t.Errorf("recommended was %+v", list)
	}
}
