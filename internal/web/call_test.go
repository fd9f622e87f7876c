package web

import (
	"net/http"
	"net/url"
	"strings"
	"testing"
)

// house enters a property, a system and an outdoor unit, and ends on the
// page of the unit.
func (b *browser) house() *browser {
	b.t.Helper()
	b.open("/").wants(200).follow("New property")
	b.submit("Save property", url.Values{"name": {"12 Sample Lane"}, "elevation": {"820"}}).wants(200).says("[role=status]", "Property saved")
	b.follow("Add a system").submit("Save system", url.Values{"number": {"2"}, "name": {"upstairs"}}).wants(200)
	b.follow("Add a unit").submit("Save unit", url.Values{"kind": {"outdoor-unit"}, "place": {"north side"}}).wants(200).says("h1", "Nameplate")
	return b.submit("Save nameplate", url.Values{"refrigerant": {"R-410A"}, "nominal-cooling": {"3"}}).wants(200).says("h1", "Outdoor unit")
}

// visit opens a visit on a hot day.
func (b *browser) visit() *browser {
	b.t.Helper()
	b.house().follow("Open a visit").wants(200)
	b.submit("Open visit", url.Values{"words": {"upstairs stays warm"}, "complaint": {"not-cooling"}, "who": {"Ada"}, "refrigerant": {"yes"}}).wants(200).says("h1", "Surroundings")
	return b.submit("Save surroundings", url.Values{"outdoor-dry-bulb": {"95"}, "return-dry-bulb": {"78"}, "return-wet-bulb": {"65"}, "line-voltage": {"240"}}).wants(200)
}

// TestCall walks through a call from the first page to the closed visit.
func TestCall(t *testing.T) {
	b := newBrowser(t).visit()
	b.says(".lit h2", "Next check").says("#causes", "in 100").says(".said", "upstairs stays warm")
	visit := b.at.Path

	// What is seen: the fan runs, the compressor hums.
	b.open(visit + "/checks/look-listen?demand=cool").wants(200)
	b.submit("Record", url.Values{"point-outdoor-fan": {"running"}, "point-compressor": {"hums-then-stops"}}).wants(200)
	b.says("[role=status]", "Recorded").says("#readings", "hums then stops").says("#readings", "running")

	// A slip of the finger is taken back.
	b.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-fan": {"50"}}).wants(200).says("#readings", "50 µF")
	b.submit("Undo: Recorded", nil).wants(200).says("[role=status]", "Taken back")
	if strings.Contains(b.text("#readings"), "50 µF") {
		t.Error("the reading taken back is still shown")
	}

	b.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-herm": {"0"}, "point-fan": {"5"}}).wants(200)
	b.says(".verdict h2", "run capacitor")

	b.follow("Record the repair").wants(200).says(".caution", "dead")
	b.submit("Record repair", url.Values{"out": {"45+5 µF 370 V"}, "in": {"45+5 µF 440 V"}, "measured": {"HERM 0 µF, FAN 5 µF"}, "why": {"heat"}}).wants(200).says("h1", "Proof")
	b.says("main", "Before").says("main", "hums then stops")

	b.open(visit+"/checks/look-listen?demand=cool").submit("Record", url.Values{"point-outdoor-fan": {"running"}, "point-compressor": {"running"}}).wants(200)
	b.open(visit+"/proof").wants(200).says(".proofs .holds", "running")

	b.open(visit+"/close").submit("Close visit", url.Values{"outcome": {"fixed"}, "note": {"superheat still to be read"}, "anyway": {"yes"}}).wants(200).says("h1", "Panel note")
	b.says(".sheet", "12 Sample Lane / 2 upstairs / Outdoor unit").says(".sheet", "45+5 µF 440 V")
	b.submit("It hangs on the unit", nil).wants(200).says(".state", "was left")
	b.open(visit+"/report").wants(200).says(".sheet", "upstairs stays warm").says(".sheet", "HERM 0 µF").says(".sheet", "heat")
	b.open(visit).wants(200).says("[role=status]", "Closed")
	for _, paper := range []string{"/note.pdf", "/report.pdf"} {
		r := b.raw(visit + paper)
		if got := body(t, r); r.StatusCode != 200 || !strings.HasPrefix(got, "%PDF") || r.Header.Get("Content-Type") != "application/pdf" {
			t.Errorf("%s: status %d, type %s, %d bytes", paper, r.StatusCode, r.Header.Get("Content-Type"), len(got))
		}
	}
}

// TestChoiceBeforeAdvice: who chooses first is told what his check would tell,
// beside the one proposed, and goes on with either.
func TestChoiceBeforeAdvice(t *testing.T) {
	b := newBrowser(t).visit()
	visit := b.at.Path
	b.open(visit).follow("What would you check?").wants(200).says("h1", "What would you check?")
	b.follow("Total external static").wants(200).says("main", "You chose").says("main", "Proposed").says("main", "Place ")
	b.follow("Choose another").wants(200).says("h1", "What would you check?")
	b.open(visit + "/choose/of-a-later-program").wants(404)
	b.open(visit+"/choose/cap-bench").wants(200).follow("Do this check").wants(200).says("h1", "Capacitance")
}

func TestLadderAnswersTaps(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	b.open(visit+"/ladder").wants(200).says("svg.ladder", "Contactor coil").says(".answer", "Tap a point")
	b.tap("T1").says(".answer", "One lead is on T1")
	b.tap("T2").says(".answer .big", "V from T1").says("svg.ladder", "black lead")
	b.follow("Lift both leads").says(".answer", "Tap a point")

	// Without a drawing: two lists and a button.
	b.submit("Show volts", url.Values{"red": {"R"}, "black": {"C"}}).says(".answer .big", "from R (board) to C (board)")

	b.open(visit+"/ladder?demand=off&red=T1&black=T2").says(".answer .big", "0.0 V")
	b.open(visit + "/ladder?as=nonsense").wants(http.StatusNotFound)
	b.open(visit+"/ladder?demand=loud").wants(http.StatusOK).says("main", "cannot call for")
}

// tap taps a point of the drawing.
func (b *browser) tap(point string) *browser {
	b.t.Helper()
	for _, a := range all(b.doc, "svg a") {
		if strings.HasPrefix(attr(a, "aria-label"), point+" ") {
			return b.open(attr(a, "href")).wants(200)
		}
	}
	b.t.Fatalf("%s: no point %q to tap", b.at, point)
	return nil
}

func TestSequenceStopsWhereTheCauseIs(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	b.open(visit+"/sequence").wants(200).says(".steps", "Contactor coil pulls in").says(".steps", "Compressor is up to speed")
	b.open(visit+"/sequence?as=lv-open-y").wants(200).says(".steps .fails", "Contactor coil pulls in").says(".steps .fails", "Compressor is up to speed")
	if strings.Contains(b.text(".steps .fails"), "Blower") {
		t.Errorf("an open Y does not keep the blower off: %s", b.text(".steps .fails"))
	}
}

func TestRefusedForms(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path

	b.open(visit+"/checks/cap-bench").submit("Record", url.Values{"point-herm": {"forty"}, "point-fan": {"5"}, "note": {"rusty can"}})
	b.wants(http.StatusUnprocessableEntity).says(".wrong", "not a number")
	for id, want := range map[string]string{"f-point-herm": "forty", "f-point-fan": "5", "f-note": "rusty can"} {
		if got := attr(one(t, b.doc, "input#"+id), "value"); got != want {
			t.Errorf("%s holds %q after the refusal, want %q as typed", id, got, want)
		}
	}
	// Mended in place, it is recorded.
	b.submit("Record", url.Values{"point-herm": {"40.2"}}).wants(200).says("#readings", "40.2 µF").says("#readings", "5 µF")

	b.open(visit+"/checks/cap-bench").submit("Record", nil).wants(http.StatusUnprocessableEntity).says(".wrong", "Nothing was filled in")
	b.open(visit+"/surroundings").submit("Save surroundings", url.Values{"outdoor-dry-bulb": {"950"}}).wants(http.StatusUnprocessableEntity).says(".bad .error", "950")
	b.open("/properties/new").submit("Save property", url.Values{"name": {" "}, "contact": {"555 0142"}}).wants(http.StatusUnprocessableEntity)
	if got := attr(one(t, b.doc, "input#f-contact"), "value"); got != "555 0142" {
		t.Errorf("contact holds %q, want it as typed", got)
	}
}

func TestCouldNotDo(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	b.open(visit+"/checks/gauge-pressures").submit("No instrument", nil).wants(200).says("[role=status]", "could not do it")
	b.open(visit+"/checks").says("main", "could not do")
}

// TestSameFormTwice: the back button and a second tap record once.
func TestSameFormTwice(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	b.open(visit + "/checks/cap-bench")
	form := b.doc
	b.submit("Record", url.Values{"point-herm": {"41"}}).wants(200)
	b.doc = form
	b.submit("Record", url.Values{"point-herm": {"41"}}).wants(200)
	if n := strings.Count(b.text("#readings"), "41 µF"); n != 1 {
		t.Errorf("sent twice it is recorded %d times", n)
	}
	b.doc = form
	b.submit("Record", url.Values{"point-herm": {"42"}}).wants(http.StatusConflict).says(".wrong", "recorded already")
	b.submit("Record", nil).wants(200).says("#readings", "42 µF") // shown again under a new number
}

func TestErrorPages(t *testing.T) {
	b := quickBrowser(t)
	b.open("/nowhere").wants(http.StatusNotFound).says(".wrong", "no such page")
	b.open("/visits/01ARZ3NDEKTSV4RRFFQ69G5FAV").wants(http.StatusNotFound).says(".wrong", "look for it there")
	b.open("/units/x").wants(http.StatusNotFound)
}

func TestTasksComeBackUntilDone(t *testing.T) {
	b := quickBrowser(t).visit()
	b.follow("Still to be done").submit("Note it", url.Values{"what": {"Judge the charge"}, "warmer": {"65"}}).wants(200).says("[role=status]", "still to be done")
	b.open("/").says("main", "Judge the charge").says("main", "at least 65 °F outside").follow("Judge the charge")
	b.submit("Done: Judge the charge", nil).wants(200)
	if b.open("/"); strings.Contains(b.text("main"), "Judge the charge") {
		t.Error("a task that was done is still listed")
	}
}

func TestRecommendation(t *testing.T) {
	b := newBrowser(t).visit()
	visit := b.at.Path
	b.follow("Still to be done").follow("Recommend").submit("Record recommendation", url.Values{"what": {"Clear the bushes"}, "answer": {"declined"}}).wants(200)
	b.open(visit+"/report").says(".sheet", "Clear the bushes (declined)")
}

func TestHazardIsNotedAndOver(t *testing.T) {
	b := quickBrowser(t).visit()
	visit := b.at.Path
	b.open(visit+"/surroundings").submit("Water near live parts", nil).wants(200).says(".caution", "Water near live parts")
	b.open(visit+"/surroundings").submit("Water near live parts is over", nil).wants(200)
	if strings.Contains(b.text(".caution"), "Water near live parts") {
		t.Error("a hazard that is over is still shown")
	}
}
