package visit

import (
	"errors"
	"slices"
	"strings"
	"testing"

	"rung/internal/record"
)

// TestCompare: the check proposed is the best; others are told why they are
// not; what was read already, what a learner may not do and what a danger bars
// is said to be so.
func TestCompare(t *testing.T) {
	if testing.Short() {
		t.Skip("opens a physical model")
	}
	s := newShop(t)
	ctx := t.Context()
	v := s.ready("not-cooling")
	a := must(s.Advise(ctx, v))(t)
	compare := func(check, want string) Comparison {
		t.Helper()
		x := must(s.Compare(ctx, v, check, ""))(t)
		if x.Verdict != English.say(want) {
			t.Errorf("%s: %q, want %q: %q", check, x.Verdict, English.say(want), x.Why)
		}
		nothingOpen(t, append(x.Why, x.Chosen.Outcomes...)...)
		return x
	}
	if x := compare(a.Next[0].Check, "choice-best"); x.Best != nil || !slices.Equal(x.Chosen.Outcomes, a.Next[0].Outcomes) {
		t.Errorf("the best beside %v, outcomes %q, want %q", x.Best, x.Chosen.Outcomes, a.Next[0].Outcomes)
	}

	less := 0
	for _, c := range must(s.Checks(ctx, v))(t) {
		x := must(s.Compare(ctx, v, c.Check, ""))(t)
		nothingOpen(t, append(x.Why, x.Verdict)...)
		if x.Verdict == English.say("choice-less") && strings.Contains(strings.Join(x.Why, " "), English.lower(a.Next[0].Name)) {
			less++
		}
	}
	if less < 5 {
		t.Errorf("only of %d checks it is said that the proposed one tells more", less)
	}

	s.read(v, "cap-bench herm off 0.1", "cap-bench fan off 5")
	compare("cap-bench", "choice-read")
	var e *Error
	if _, err := s.Compare(ctx, v, "of-a-later-program", ""); !errors.As(err, &e) || e.Kind != NotFound {
		t.Errorf("a check nobody knows: %v", err)
	}
	if _, err := s.Compare(ctx, v, a.Next[0].Check, "heat"); err == nil {
		t.Error("a look at the compressor under a call for heat is compared")
	}
	s.ok(s.NoteHazard(ctx, s.by(), v, "gas-smell", false))
	if x := compare("look-listen", "choice-not-now"); !strings.Contains(x.Why[0], "gas") {
		t.Errorf("why not under a smell of gas: %q", x.Why)
	}
}

// TestCompareOfLearner: alone he is not to measure in a live panel.
func TestCompareOfLearner(t *testing.T) {
	if testing.Short() {
		t.Skip("opens a physical model")
	}
	s := newShop(t)
	ctx := t.Context()
	_, sys, _ := s.house()
	v := must(s.OpenVisit(ctx, s.by(), sys, OpenInput{Complaint: "not-cooling", Who: record.Person{Name: "Ben", Role: "apprentice"}}))(t)
	barred := 0
	for _, c := range must(s.Checks(ctx, v))(t) {
		if x := must(s.Compare(ctx, v, c.Check, ""))(t); x.Verdict == English.say("choice-not-you") {
			barred++
			if x.Why[0] != English.say("choice-person") {
				t.Errorf("%s: %q", c.Check, x.Why)
			}
		}
	}
	if barred == 0 {
		t.Error("nothing is barred from an apprentice alone")
	}
}
