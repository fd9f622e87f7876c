package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"

	"rung/internal/visit"
	"rung/internal/web/page"
)

// twins enters a house with two systems, and ends on its page of what serves what.
func (b *browser) twins() *browser {
	b.t.Helper()
	b.open("/").follow("New property").submit("Save property", url.Values{"name": {"12 Sample Lane"}}).wants(200)
	property := b.at.Path
	for _, x := range [][3]string{{"1", "downstairs", "left"}, {"2", "upstairs", "right"}} {
		b.open(property).follow("Add a system").submit("Save system", url.Values{"number": {x[0]}, "name": {x[1]}}).wants(200)
		system := b.at.Path
		b.follow("Add a unit").submit("Save unit", url.Values{"kind": {"thermostat"}, "place": {x[1] + " hall"}}).wants(200)
		b.open(system).follow("Add a unit").submit("Save unit", url.Values{"kind": {"outdoor-unit"}, "place": {"north side, " + x[2]}}).wants(200)
	}
	return b.open(property).says("main", "0 of 8 links proved").follow("Thermostat to breaker").wants(200)
}

// cell follows a cell of the table: the link of a system, both counted from 0.
func (b *browser) cell(system, link int) *browser {
	b.t.Helper()
	return b.open(attr(all(b.doc, ".chain td a")[4*system+link], "href")).wants(200)
}

// value returns the value of the choice whose label contains text.
func (b *browser) value(text string) string {
	b.t.Helper()
	for _, l := range all(b.doc, ".choices label") {
		if strings.Contains(words(l), text) {
			return attr(all(l, "input")[0], "value")
		}
	}
	b.t.Fatalf("%s: no choice %q", b.at, text)
	return ""
}

func TestWhatServesWhat(t *testing.T) {
	b := quickBrowser(t).twins()
	b.says(".lit h2", "Indoor unit of 1 downstairs").says(".lit", "downstairs hall").says(".lit .caution", "start by itself").says(".chain", "north side, left").says(".chain", "thermostat: upstairs hall")
	chain := b.at.Path

	b.follow("Record what you found").says("h1", "Indoor unit of 1 downstairs")
	b.submit("Record it", url.Values{"place": {"attic, left"}, "how": {"call-started"}}).wants(200)
	b.says("[role=status]", "Recorded: 1 downstairs, indoor unit attic, left").says(".lit h2", "Outdoor unit of 1 downstairs").says(".chain .proved", "attic, left")

	// A slip of the finger is taken back.
	b.submit("Undo: Recorded: 1 downstairs, indoor unit attic, left.", nil).wants(200).says("[role=status]", "Taken back").says(".lit h2", "Indoor unit of 1 downstairs")

	// The two outdoor units are found to be swapped.
	b.cell(0, 1).submit("Record it", url.Values{"known": {b.value("north side, right")}, "how": {"call-started"}}).wants(200)
	b.says(".warning", "claim the same outdoor unit").says(".chain .doubted", "north side, right")
	b.cell(1, 1).submit("Record it", url.Values{"known": {b.value("north side, left")}, "how": {"call-started"}}).wants(200)
	b.says(".swapped h2", "1 downstairs and 2 upstairs").says(".swapped", "coil freezes").says(".swapped", "power off")
	// A label beside a test is recorded, and can be taken back all the same.
	b.cell(0, 1).submit("Record it", url.Values{"known": {b.value("north side, right")}, "how": {"label"}}).wants(200).says(".warning", "the label says")
	b.submit("Undo: Recorded.", nil).wants(200).says(".swapped h2", "1 downstairs and 2 upstairs")
	b.cell(1, 1).says(".facts", "The label says").says(".facts", "swapped")
	b.open("/").follow("12 Sample Lane").says("main", "2 of 8 links proved · 1 pair swapped")
	// Who works on one of them is told.
	b.follow("2 upstairs").says(".facts", "proved, swapped").says(".caution", "Swapped outdoor units")
	b.follow("Open a visit").submit("Open visit", url.Values{"complaint": {"not-cooling"}, "who": {"Ada"}}).wants(200)
	b.open(strings.TrimSuffix(b.at.Path, "/surroundings")).wants(200).says(".caution", "By test the thermostat of each")
	b.open(chain + "/nowhere").wants(404).open("/properties/nowhere/chain").wants(404)
}

// A breaker is not switched off before the customer knows, nor the meter
// believed before it is proved.
func TestBreakerStepsInOrder(t *testing.T) {
	b := quickBrowser(t).twins().cell(0, 3)
	var order []string
	for _, list := range all(b.doc, "details[open] ol.how") {
		order = append(order, words(list))
	}
	text := strings.Join(order, " ")
	at := -1
	for _, want := range []string{"Tell the customer", "freezers", "medical", "Prove the meter", "live", "Switch one breaker off", "each to ground", "live source again"} {
		i := strings.Index(text[at+1:], want)
		if i < 0 {
			t.Fatalf("no %q after %d in %q", want, at, text)
		}
		at += 1 + i
	}
}

func TestLinkRefused(t *testing.T) {
	b := quickBrowser(t).twins()
	b.cell(0, 1).submit("Record it", url.Values{"known": {b.value("north side, left")}, "place": {"on the roof"}, "note": {"rusty"}})
	b.wants(http.StatusUnprocessableEntity).says(".wrong", "Not saved yet").says(".bad .error", "on the roof")
	for id, want := range map[string]string{"f-place": "on the roof", "f-note": "rusty"} {
		if got := attr(one(t, b.doc, "input#"+id), "value"); got != want {
			t.Errorf("%s holds %q after the refusal, want %q as typed", id, got, want)
		}
	}
	if got := len(all(b.doc, ".choices input[checked]")); got != 1 {
		t.Errorf("%d choices are kept, want the one that was made", got)
	}
	// Mended in place, it is recorded.
	b.submit("Record it", url.Values{"place": {""}, "how": {"label"}}).wants(200).says("[role=status]", "north side, left")
	b.cell(0, 1).says(".facts", "rusty").says(".facts", "by label only").says(".facts", "Ada")
	if n := len(all(b.doc, ".choices input[name=known]")); n != 3 {
		t.Errorf("%d places to choose from, want the two units and another", n)
	}
}

func TestChainLabels(t *testing.T) {
	b := quickBrowser(t).twins()
	chain := b.at.Path
	labels := strings.TrimSuffix(chain, "chain") + "labels"
	b.cell(0, 3).submit("Record it", url.Values{"place": {"14-16"}, "how": {"breaker-dead"}}).wants(200)
	b.follow("Labels").wants(200).says(".sheet", "1 downstairs").says("main", "Breaker: 14-16").says(".sheet", "north side, left not proved").says(".sheet", "2026-07-14 · Ada, 555 0100")
	if n := len(all(b.doc, ".sheet.label")); n != 5 {
		t.Errorf("%d labels, want one for each place known", n)
	}
	r := b.raw(labels + ".pdf")
	if got := body(t, r); r.StatusCode != 200 || !strings.HasPrefix(got, "%PDF") {
		t.Errorf("labels.pdf: status %d, %d bytes", r.StatusCode, len(got))
	}
	// What two systems claim is not printed on either.
	b.open(chain).cell(1, 3).submit("Record it", url.Values{"place": {"14/16"}, "how": {"label"}}).wants(200)
	b.open(labels).says(".warning", "whose breaker").open(labels + ".pdf").wants(404)
}

// Seven or more places are a list to pick from, where “Another” comes first.
func TestManyPlaces(t *testing.T) {
	var places []visit.Choice
	for _, id := range []string{"1", "2", "3", "4", "5", "6", "7"} {
		places = append(places, visit.Choice{ID: id, Name: id})
	}
	f := choosePlace(fill(nil, nil, nil), places, "")
	if f.Kind != page.Pick || f.Choices[0] != (page.Choice{Value: "", Label: "Another, typed below"}) || len(f.Choices) != 8 {
		t.Errorf("field %+v", f)
	}
}
