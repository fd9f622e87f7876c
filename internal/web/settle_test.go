package web

import (
	"net/http/httptest"
	"net/url"
	"strings"
	"testing"

	"rung/internal/journal"
	"rung/internal/journal/memlog"
	"rung/internal/ledger"
	"rung/internal/visit"
)

// meeting are two phones, each with a journal of its own.
type meeting struct {
	t        testing.TB
	ada, ben journal.Log
}

// join brings their journals together.
func (m meeting) join() {
	m.t.Helper()
	for _, x := range [][2]journal.Log{{m.ada, m.ben}, {m.ben, m.ada}} {
		list, _, err := x[0].Since(m.t.Context(), journal.Start, 1_000_000)
		if err == nil {
			err = x[1].Append(m.t.Context(), list)
		}
		if err != nil {
			m.t.Fatal(err)
		}
	}
}

// differ lets Ada and Ben record different things on one visit, and returns
// Ada's server with both.
func differ(t testing.TB) (s *Server, visit, unit string) {
	t.Helper()
	m := meeting{t, memlog.New(ledger.Summary()), memlog.New(ledger.Summary())}
	s = newServerOf(t, "Ada", m.ada, silent)
	ada := &browser{t: t, handler: s.Handler(), at: &url.URL{Path: "/"}}
	ben := &browser{t: t, handler: newServerOf(t, "Ben", m.ben, silent).Handler(), at: &url.URL{Path: "/"}}
	visit = ada.visit().at.Path
	unit = ada.open("/").follow("12 Sample Lane").follow("upstairs").follow("Outdoor unit").wants(200).at.Path
	m.join()
	ada.open(unit+"/nameplate").submit("Save nameplate", url.Values{"rated-load-amps": {"14.1"}}).wants(200)
	ben.open(unit+"/nameplate").submit("Save nameplate", url.Values{"rated-load-amps": {"16"}}).wants(200)
	ada.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-herm": {"40"}}).wants(200)
	ben.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-fan": {"4.9"}}).wants(200)
	ada.open(visit+"/repair?repair=replace-run-capacitor").submit("Record repair", url.Values{"in": {"45+5 µF 440 V"}, "why": {"heat"}}).wants(200)
	ben.open(visit+"/repair?repair=replace-contactor").submit("Record repair", url.Values{"in": {"30 A two poles"}, "why": {"pitted"}}).wants(200)
	m.join()
	return s, visit, unit
}

func silent(visit.Situation) (visit.Reasoner, error) { return mute{}, nil }

// choice returns what a form sends if the choice with these words is taken.
func (b *browser) choice(want string) string {
	b.t.Helper()
	for _, label := range all(b.doc, "details.dispute label") {
		if strings.Contains(words(label), want) {
			return attr(one(b.t, label, "input"), "value")
		}
	}
	b.t.Fatalf("%s: no choice %q", b.at, want)
	return ""
}

func TestDisputesOnPages(t *testing.T) {
	s, visit, unit := differ(t)
	b := &browser{t: t, handler: s.Handler(), at: &url.URL{Path: "/"}, twice: true}
	b.open(visit).wants(200).says("#readings", "40 µF").says("#readings", "4.9 µF")
	b.says("details.dispute", "Repairs were recorded on two phones").says("details.dispute", "45+5 µF 440 V").says("details.dispute", "Ben, 14 July 2026").says("details.dispute", "14.1 A")
	ids := map[string]bool{}
	for _, n := range all(b.doc, "[id]") {
		if id := attr(n, "id"); ids[id] {
			t.Errorf("two things have the id %s", id)
		} else {
			ids[id] = true
		}
	}
	b.open(visit+"/report").says(".sheet", "Not settled: which repairs were done. Replace the contactor · 30 A two poles (Ben, 14 July 2026")
	b.says(".sheet", "Not settled: the compressor rated load amps (RLA) of the outdoor unit. 16 A (Ben, 14 July 2026").says(".sheet", "or 14.1 A (Ada,").says(".sheet", "The latest counts until it is settled")
	b.open(visit+"/note").says(".sheet", "settle the compressor rated load amps (RLA) of the outdoor unit")
	b.open(visit)
	forms := all(b.doc, "details.dispute form")
	if len(forms) != 2 {
		t.Fatalf("%d disputes, want two", len(forms))
	}
	b.sendForm(forms[0], successful(forms[0])).wants(422).says("main", "Choose which one is right")

	b.open(visit)
	all2 := b.choice("All 2 of them")
	values := successful(forms[0])
	values.Set("stands", all2)
	b.sendForm(forms[0], values).wants(200).says("[role=status]", "Settled")
	stale := b.open(unit).wants(200).choice("14.1 A")
	form := one(t, b.doc, "details.dispute form")
	values = successful(form)
	values.Set("stands", stale)
	values.Set("why", "the light was bad")
	b.sendForm(form, values).wants(200).says("[role=status]", "Settled").says(".facts", "14.1 A")
	if n := len(all(b.doc, "details.dispute")); n != 0 {
		t.Errorf("%d disputes are left", n)
	}
	values.Set("form", s.Visits.NewForm())
	b.twice = false
	b.sendForm(form, values).wants(409).says("main", "settled meanwhile")
	b.open(visit).says("#readings", "40 µF").says("#readings", "4.9 µF")
	b.open(visit+"/report").says(".sheet", "Settled: which repairs were done. All are right:")
	b.says(".sheet", "Settled: the compressor rated load amps (RLA) of the outdoor unit. 14.1 A (Ada,").says(".sheet", "stands, not 16 A (Ben,").says(".sheet", ": the light was bad.")
	if got := b.text(".sheet"); strings.Contains(got, "Not settled") {
		t.Errorf("the report says that something is not settled: %s", got)
	}
}

// TestDisputeFitsAPhone settles a dispute with a thumb and without a script, and
// measures every page on the way.
func TestDisputeFitsAPhone(t *testing.T) {
	s, visit, _ := differ(t)
	server := httptest.NewServer(s.Handler())
	defer server.Close()
	p := newPhone(t, browsers(t), server.URL).withoutScripts()
	p.open(visit).says("details.dispute", "Which were done?")
	p.fill("stands", "all").press("Settle it").says("[role=status]", "Settled")
}
