package visit

import (
	"slices"
	"strings"
	"testing"

	"rung/internal/ledger"
	"rung/internal/record"
)

// twins enters a house with two systems, each with a thermostat and two units.
func (s *shop) twins() (property record.PropertyID, systems [2]record.SystemID, outdoor [2]record.UnitID) {
	s.t.Helper()
	ctx := s.t.Context()
	property = must(s.AddProperty(ctx, s.by(), PropertyInput{Name: "Mill house"}))(s.t)
	for i, x := range [2]struct{ number, name, side string }{{"1", "downstairs", "left"}, {"2", "upstairs", "right"}} {
		systems[i] = must(s.AddSystem(ctx, s.by(), property, SystemInput{Number: x.number, Name: x.name}))(s.t)
		must(s.AddUnit(ctx, s.by(), systems[i], UnitInput{Kind: "thermostat", Place: x.name + " hall"}))(s.t)
		must(s.AddUnit(ctx, s.by(), systems[i], UnitInput{Kind: "air-handler", Place: "attic"}))(s.t)
		outdoor[i] = must(s.AddUnit(ctx, s.by(), systems[i], UnitInput{Kind: "outdoor-unit", Place: "north side, " + x.side}))(s.t)
	}
	return property, systems, outdoor
}

func (s *shop) found(system record.SystemID, in LinkInput) record.EntryID {
	s.t.Helper()
	return must(s.RecordLink(s.t.Context(), s.by(), system, in))(s.t)
}

func (s *shop) chain(p record.PropertyID) ChainSheet {
	s.t.Helper()
	return must(s.Chain(s.t.Context(), p))(s.t)
}

// A house is gone through with one trip from each thermostat to the disconnect,
// and one round of breakers at the end.
func TestChainInFewTrips(t *testing.T) {
	s := newShop(t)
	p, _, _ := s.twins()
	sheet := s.chain(p)
	if sheet.Left != 2*(4+6+5+8) {
		t.Errorf("%g minutes left", sheet.Left)
	}
	var order []string
	for sheet.Next != nil {
		n := sheet.Next
		order = append(order, n.System.Number+" "+n.Link.ID)
		if n.Minutes <= 0 || len(n.Steps) < 2 {
			t.Errorf("%s: %g minutes, %d steps", n.Link.ID, n.Minutes, len(n.Steps))
		}
		s.found(n.System.System, LinkInput{Link: n.Link.ID, Place: n.System.Number, How: s.LinkProofs(n.Link.ID)[0].ID})
		sheet = s.chain(p)
	}
	want := "1 indoor-unit, 1 outdoor-unit, 1 disconnect, 2 indoor-unit, 2 outdoor-unit, 2 disconnect, 1 breaker, 2 breaker"
	if got := strings.Join(order, ", "); got != want {
		t.Errorf("order %s, want %s", got, want)
	}
	if sheet.Left != 0 {
		t.Errorf("all is proved and %g minutes are left", sheet.Left)
	}
}

func TestChainSteps(t *testing.T) {
	s := newShop(t)
	_, systems, _ := s.twins()
	s.found(systems[0], LinkInput{Link: "disconnect", Place: "A", How: record.ByLabel})
	_, x, step, err := s.LinkStep(t.Context(), systems[0], "breaker")
	if err != nil || x.State != LinkUnknown {
		t.Fatalf("LinkStep = %+v, %v", x, err)
	}
	text := ""
	for _, p := range step.Steps {
		text += p.Text + " " + strings.Join(p.Cautions, " ") + " "
	}
	for _, want := range []string{"Tell the customer", "freezers", "medical", "computers", "Prove the meter", "240 V", "each to ground", "licensed electrician", "disconnect “A”", "1 downstairs (downstairs hall)"} {
		if !strings.Contains(text, want) {
			t.Errorf("the steps do not speak of %q: %s", want, text)
		}
	}
	_, _, _, err = s.LinkStep(t.Context(), systems[0], "line-set")
	wants(t, err, NotFound)
}

func TestChainSwapped(t *testing.T) {
	s := newShop(t)
	p, systems, outdoor := s.twins()
	s.found(systems[0], LinkInput{Link: "outdoor-unit", Known: string(outdoor[1]), How: "call-started"})
	sheet := s.chain(p)
	if len(sheet.Swapped) != 0 || len(sheet.Doubts) != 2 || !strings.Contains(sheet.Doubts[0], "1 downstairs (by test) and 2 upstairs (not tried)") {
		t.Errorf("half proved: swapped %v, doubts %q", sheet.Swapped, sheet.Doubts)
	}
	back := s.found(systems[1], LinkInput{Link: "outdoor-unit", Place: "north side LEFT", How: "call-volts"})
	sheet = s.chain(p)
	if len(sheet.Swapped) != 1 || len(sheet.Doubts) != 0 {
		t.Fatalf("swapped %v, doubts %q", sheet.Swapped, sheet.Doubts)
	}
	w := sheet.Swapped[0]
	text := w.Pair + w.Says + w.Means + strings.Join(w.Mend, " ")
	for _, want := range []string{"1 downstairs and 2 upstairs", "coil freezes", "wrong rooms", "piped", "control wires", "power off", "dead by meter", "stays live"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q does not speak of %q", text, want)
		}
	}
	link := sheet.Systems[0].Links[1]
	if !link.Swapped || link.State != LinkProved || link.Place != "north side, right" || link.Label != "north side, left" || link.By != "Ada" {
		t.Errorf("link %+v", link)
	}
	s.ok(s.WithdrawLink(t.Context(), s.by(), p, back, "wrong unit"))
	if sheet = s.chain(p); len(sheet.Swapped) != 0 {
		t.Errorf("taken back and still swapped: %v", sheet.Swapped)
	}
	for _, link := range []string{"disconnect", "breaker"} {
		for i, number := range []string{"1", "2"} {
			s.found(systems[i], LinkInput{Link: link, Place: number, How: record.ByLabel})
			s.found(systems[1-i], LinkInput{Link: link, Place: number, How: s.LinkProofs(link)[0].ID})
		}
	}
	if sheet = s.chain(p); len(sheet.Swapped) != 2 || !strings.Contains(sheet.Swapped[1].Says, "live unit") {
		t.Errorf("swapped labels: %+v", sheet.Swapped)
	}
}

func TestChainMended(t *testing.T) {
	s := newShop(t)
	p, systems, outdoor := s.twins()
	s.found(systems[0], LinkInput{Link: "outdoor-unit", Known: string(outdoor[1]), How: "call-started"})
	s.found(systems[0], LinkInput{Link: "disconnect", Place: "B", How: "pulled-stopped"})
	s.found(systems[0], LinkInput{Link: "outdoor-unit", Known: string(outdoor[0]), How: "call-started"})
	sheet := s.chain(p)
	if len(sheet.Doubts) != 1 || !strings.Contains(sheet.Doubts[0], "disconnect was proved before the outdoor unit changed") || sheet.Systems[0].Links[2].State != LinkUnknown {
		t.Errorf("doubts %q, disconnect %+v", sheet.Doubts, sheet.Systems[0].Links[2])
	}
}

func TestRecordLinkRefuses(t *testing.T) {
	s := newShop(t)
	p, systems, outdoor := s.twins()
	before := s.entries()
	for name, x := range map[string]struct {
		in    LinkInput
		kind  Kind
		parts []string
	}{
		"nothing":       {LinkInput{Link: "breaker"}, Invalid, []string{"place: Say which", "how: Say how"}},
		"both":          {LinkInput{Link: "outdoor-unit", Known: string(outdoor[0]), Place: "roof", How: "label"}, Invalid, []string{"roof", "Another"}},
		"not there":     {LinkInput{Link: "outdoor-unit", Known: "gone", How: "label"}, Invalid, []string{"not in the list"}},
		"other test":    {LinkInput{Link: "breaker", Place: "14-16", How: "call-started"}, Invalid, []string{"how: Say how"}},
		"no such link":  {LinkInput{Link: "line-set", Place: "1", How: "label"}, NotFound, nil},
		"unit of other": {LinkInput{Link: "breaker", Known: string(outdoor[0]), How: "breaker-dead"}, Invalid, []string{"not in the list"}},
	} {
		_, err := s.RecordLink(t.Context(), s.by(), systems[0], x.in)
		wants(t, err, x.kind, x.parts...)
		if t.Failed() {
			t.Log(name)
		}
	}
	wants(t, s.WithdrawLink(t.Context(), s.by(), p, record.EntryID(systems[0]), ""), NotFound)
	if n := s.entries(); n != before {
		t.Errorf("refused forms added %d entries", n-before)
	}
}

// Every link of the record has words, proofs with the label last, and cautions
// that are there, short enough for a phone.
func TestChainWords(t *testing.T) {
	var ids []string
	used := map[string]bool{}
	for _, l := range chainWords() {
		ids = append(ids, l.id)
		if n := len(l.proofs); n < 2 || l.proofs[n-1].id != record.ByLabel {
			t.Errorf("%s: proofs %v, want a test and the label last", l.id, l.proofs)
		}
		for _, step := range l.steps {
			tooLong(t, l.id, step.text.EN, English)
			tooLong(t, l.id, step.text.ES, Spanish)
			for _, id := range step.cautions {
				if _, known := chainCautions()[id]; !known {
					t.Errorf("%s: no caution %s", l.id, id)
				}
				used[id] = true
			}
		}
	}
	if !slices.Equal(ids, ledger.ChainLinks) {
		t.Errorf("links %v, want %v", ids, ledger.ChainLinks)
	}
	for id, c := range chainCautions() {
		tooLong(t, id, c.EN, English)
		tooLong(t, id, c.ES, Spanish)
		if !used[id] {
			t.Errorf("caution %s is never shown", id)
		}
	}
}
