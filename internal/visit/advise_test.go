package visit

import (
	"errors"
	"go/ast"
	"go/parser"
	"go/token"
	"math"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"

	"rung/internal/diagnosis"
	"rung/internal/record"
)

// constantOf returns the string of a constant declared with the type.
func constantOf(n ast.Node, typeName string) (string, bool) {
	spec, ok := n.(*ast.ValueSpec)
	if !ok || len(spec.Values) != 1 {
		return "", false
	}
	name, isName := spec.Type.(*ast.Ident)
	text, isText := spec.Values[0].(*ast.BasicLit)
	if !isName || !isText || name.Name != typeName {
		return "", false
	}
	value, err := strconv.Unquote(text.Value)
	return value, err == nil
}

// constants returns the values of the string constants of a type of package
// diagnosis, from its source, so that a new one cannot be forgotten here.
func constants(t *testing.T, typeName string) []string {
	t.Helper()
	files, err := filepath.Glob("../diagnosis/*.go")
	if err != nil {
		t.Fatal(err)
	}
	var values []string
	for _, name := range files {
		f, err := parser.ParseFile(token.NewFileSet(), name, nil, parser.SkipObjectResolution)
		if err != nil {
			t.Fatal(err)
		}
		ast.Inspect(f, func(n ast.Node) bool {
			if value, ok := constantOf(n, typeName); ok {
				values = append(values, value)
			}
			return true
		})
	}
	if len(values) == 0 {
		t.Fatalf("no constants of %s found", typeName)
	}
	return values
}

// Whatever the engine can say, there is a sentence for it.
func TestEverythingCanBeSaid(t *testing.T) {
	want := map[string][]string{
		"held-":   constants(t, "HoldReason"),
		"charge-": constants(t, "ChargeReason"),
		"warn-":   constants(t, "WarningKind"),
	}
	for prefix, ids := range want {
		for _, id := range ids {
			if _, known := sentences()[prefix+id]; !known && id != "contradiction" {
				t.Errorf("no sentence %s%s", prefix, id)
			}
		}
	}
	for _, mode := range allModes {
		if _, known := sentences()["proof-how-"+mode]; !known {
			t.Errorf("no sentence proof-how-%s", mode)
		}
	}
	for _, hazard := range constants(t, "Hazard") {
		if English.choice("hazard", hazard).Name == hazard {
			t.Errorf("hazard %s has no name", hazard)
		}
	}
	for id, s := range sentences() {
		if s.EN == "" || strings.TrimSpace(s.EN) != s.EN {
			t.Errorf("sentence %s: %q", id, s.EN)
		}
	}
}

var open = regexp.MustCompile(`\{[a-z]+\}`)

// nothingOpen wants no {name} left in any text of an advice.
func nothingOpen(t *testing.T, texts ...string) {
	t.Helper()
	for _, text := range texts {
		if m := open.FindString(text); m != "" {
			t.Errorf("%s was not filled in: %q", m, text)
		}
	}
}

// opinion is an advice with something of everything in it.
func opinion(reading record.EntryID) diagnosis.Advice {
	herm := diagnosis.Ref{Check: "cap-bench", Point: "herm", Demand: diagnosis.Off}
	weight := diagnosis.Weight{Reading: string(reading), Ref: herm, Outcome: diagnosis.Value(4.9e-6), Cause: "herm-cap-open", Rival: "comp-ol-open",
		Decibans: 14, Strength: diagnosis.Strongly}
	against := weight
	against.Strength = diagnosis.Somewhat
	a := diagnosis.Advice{
		Causes: []diagnosis.Cause{
			{ID: "herm-cap-weak", Faults: []string{"herm-cap-weak"}, Repairs: []string{"replace-run-capacitor"}, Probability: 0.71,
				Severity: &diagnosis.Range{Low: 0.1, Mid: 0.5, High: 0.9}},
			{ID: "healthy", Probability: 0.2},
			{ID: "low-charge-leak", Faults: []string{"low-charge-leak"}, Repairs: []string{"repair-leak"}, Probability: 0.004},
		},
		Unlisted: []diagnosis.Unlisted{{Subsystem: "cooling", Probability: 0.05}}, UnlistedTotal: 0.06, Cured: 0.2,
		Verdict: diagnosis.VerdictRepair,
		Repair:  &diagnosis.RepairAdvice{ID: "replace-run-capacitor", Cure: 0.69, Minutes: 24},
		Next: []diagnosis.Suggestion{{Kind: diagnosis.Measure, Check: "cap-bench", Demand: diagnosis.Off, Refs: []diagnosis.Ref{herm},
			CheckMinutes: 6, SetupMinutes: 7, Separates: [2]string{"herm-cap-weak", "healthy"},
			With: []diagnosis.Ref{{Check: "ohm-comp-windings", Point: "c-r", Demand: diagnosis.Off}},
			Outcomes: []diagnosis.Branch{
				{Ref: herm, Low: math.Inf(-1), High: 30e-6, Probability: 0.6, Remain: []diagnosis.Standing{{ID: "herm-cap-weak", Probability: 0.98}}},
				{Ref: herm, Low: 40e-6, High: 47e-6, Probability: 0.4, Remain: []diagnosis.Standing{{ID: "healthy", Probability: 0.9}}},
			}}},
		Stop: diagnosis.StopCosts{RepairNow: 31, OneMore: 33, Certainty: 0.69, Raised: 0.9},
		For:  []diagnosis.Weight{weight}, Against: &against,
		Latest: &diagnosis.Effect{Reading: string(reading), Ref: herm, Outcome: diagnosis.Value(4.9e-6),
			Expected: []diagnosis.Expectation{{Cause: "healthy", ValueShare: 1, Range: diagnosis.Range{Low: 42e-6, Mid: 45e-6, High: 48e-6}}},
			RuledOut: []diagnosis.Shift{{ID: "contactor-pitted", Before: 0.2, After: 0.001, Decibans: 23}},
			Likelier: []diagnosis.Shift{{ID: "herm-cap-weak", Before: 0.2, After: 0.71, Decibans: 9}},
			Open:     []diagnosis.Standing{{ID: "herm-cap-weak", Probability: 0.71}}},
		Charge: diagnosis.ChargeGate{Matters: true, OutdoorLimit: 291.48333, ReturnAbove: 291.48333,
			Reasons: []diagnosis.ChargeReason{diagnosis.ChargeTooCool, diagnosis.ChargeAirflowUnknown}},
	}
	return a
}

func TestAdviceInWords(t *testing.T) {
	s := newShop(t)
	o := &oracle{expect: []diagnosis.Expectation{{Cause: "healthy", ValueShare: 1, Range: diagnosis.Range{Low: 42e-6, Mid: 45e-6, High: 48e-6}}}}
	s.consult(o)
	v, _ := s.call()
	s.ok(s.RecordSurroundings(t.Context(), s.by(), v, SurroundingsInput{Values: map[string]string{"outdoor-dry-bulb": "58"}}))
	ids := s.read(v, "cap-bench herm off 4.90")
	o.advice = opinion(ids[0])
	o.prior = &diagnosis.Advice{Causes: []diagnosis.Cause{{ID: "healthy", Probability: 0.5}, {ID: "herm-cap-weak", Probability: 0.2}, {ID: "contactor-pitted", Probability: 0.2}}}
	for _, kind := range constants(t, "WarningKind") {
		w := diagnosis.Warning{Kind: diagnosis.WarningKind(kind), Reading: string(ids[0]), Ref: o.advice.Latest.Ref, Cause: "herm-cap-weak", Value: 3.4, Detail: "gas-smell"}
		if w.Kind == diagnosis.WarnContradiction {
			w.Detail = "liquid-below-suction"
		}
		o.advice.Warnings = append(o.advice.Warnings, w)
	}
	for _, reason := range constants(t, "HoldReason") {
		o.advice.Repair.Held = append(o.advice.Repair.Held, diagnosis.HoldReason(reason))
	}
	a := must(s.Advise(t.Context(), v))(t)
	for what, pair := range map[string][2]string{
		"heading":  {a.Heading, "Ready to repair: replace the run capacitor"},
		"why":      {a.Why, "Weak compressor capacitor: 71 in 100. This repair cures it: 69 in 100."},
		"odds":     {a.Standing[0].Odds, "71 in 100"},
		"detail":   {a.Standing[0].Detail, "has lost part of its capacitance"},
		"severity": {a.Standing[0].Severity, "capacitance left 54 to 86 %"},
		"reason":   {a.Standing[0].Reasons[0], "Capacitance out of circuit, HERM section: 4.90 µF speaks strongly for it, against open compressor overload."},
		"healthy":  {a.Standing[1].Name, "Nothing wrong"},
		"unlisted": {a.Unlisted, "6 in 100; likeliest an unlisted fault of the outdoor unit"},
		"charge":   {a.NotJudged.Reasons[0], "It is 58 °F outdoors; below 65 °F the charge cannot be judged."},
		"task":     {a.NotJudged.Task, "Come back to judge the charge at 65 °F outdoors or warmer."},
		"effect":   {a.Effect[0], "Capacitance out of circuit, HERM section: 4.90 µF; a sound system shows 42"},
		"out":      {a.Effect[1], "Ruled out: pitted contactor contacts."},
		"likelier": {a.Effect[2], "Likelier: weak compressor capacitor (20 to 71 in 100)."},
		"outcome":  {a.Next[0].Outcomes[0], "HERM section under 30"},
		"tells":    {a.Next[0].Why, "Settles weak compressor capacitor either way in one go."},
		"expect":   {a.Next[0].Points[0].Expect[0].Shows, "42"},
		"before":   {a.Next[0].Points[0].Before, "4.90 µF"},
		"ruled":    {a.RuledOut[0].Why, "HERM section: 4.90 µF"},
	} {
		if !strings.Contains(pair[0], pair[1]) {
			t.Errorf("%s: %q, want %q in it", what, pair[0], pair[1])
		}
	}
	if len(a.Standing) != 2 || len(a.Repair.Held) != len(o.advice.Repair.Held) || len(a.Warnings) != len(o.advice.Warnings) {
		t.Errorf("%d standing, %d held, %d warnings", len(a.Standing), len(a.Repair.Held), len(a.Warnings))
	}
	if len(a.Next[0].Cautions) == 0 || len(a.Next[0].Steps) == 0 || a.Hint == "" {
		t.Errorf("card without cautions or steps, or no hint: %+v", a.Next[0])
	}
	all := slices.Concat(a.Warnings, a.Effect, a.Repair.Held, a.NotJudged.Reasons, a.Next[0].Outcomes, a.Next[0].Setup, a.Standing[0].Reasons)
	nothingOpen(t, append(all, a.Heading, a.Why, a.Cost, a.Hint, a.Unlisted, a.NotJudged.Task, a.Next[0].Why)...)
}

// Every verdict has its heading, and a hazard its own.
func TestVerdicts(t *testing.T) {
	s := newShop(t)
	seen := map[string]bool{}
	for _, verdict := range constants(t, "Verdict") {
		o := &oracle{advice: opinion("")}
		o.advice.Verdict = diagnosis.Verdict(verdict)
		s.consult(o)
		v, _ := s.call()
		a := must(s.Advise(t.Context(), v))(t)
		nothingOpen(t, a.Heading, a.Why)
		if verdict == "escalate" {
			o.advice.Repair.Held = []diagnosis.HoldReason{diagnosis.HeldCharge}
			s.engines = newEngines(func(Situation) (Reasoner, error) { return o, nil })
			held := must(s.Advise(t.Context(), v))(t)
			nothingOpen(t, held.Heading, held.Why)
			if held.Heading == a.Heading || !strings.Contains(held.Why, a.NotJudged.Task) {
				t.Errorf("held for the charge: %q, %q", held.Heading, held.Why)
			}
		}
		if a.Heading == "" || a.Why == "" || seen[a.Heading] {
			t.Errorf("verdict %s: heading %q, why %q", verdict, a.Heading, a.Why)
		}
		seen[a.Heading] = true
		s.ok(s.NoteHazard(t.Context(), s.by(), v, "gas-smell", false))
		if a := must(s.Advise(t.Context(), v))(t); a.Heading != "Stop: smell of gas" {
			t.Errorf("with a smell of gas: %q", a.Heading)
		}
	}
}

// Plates and surroundings beyond the model give a plain sentence and no advice,
// and the record goes on.
func TestNoAdvice(t *testing.T) {
	s := newShop(t)
	ctx := t.Context()
	v, u := s.call()
	s.ok(s.RecordSurroundings(ctx, s.by(), v, SurroundingsInput{Values: map[string]string{"line-voltage": "120", "outdoor-dry-bulb": "-30"}}))
	s.ok(s.RecordPlate(ctx, s.by(), u, map[string]string{"rated-load-amps": "40", "nominal-cooling": "1.5 ton"}))
	_, err := s.Advise(ctx, v)
	wants(t, err, OutOfRange, "120 V", "-30 °F", "does not go with")
	if c := must(s.Card(ctx, v, "cap-bench", ""))(t); c.Unpredicted == "" || len(c.Points) != 2 {
		t.Errorf("card %+v", c)
	}
	s.read(v, "look-listen compressor cool silent")
	if p := must(s.Proof(ctx, v))(t); p.line(t, "cool", "look-listen", "compressor").State != ProofOpen && len(p.Limits) == 0 {
		t.Errorf("proof %+v", p)
	}
	s.ok(s.AcceptCause(ctx, s.by(), v, "contactor-pitted"))
	must(s.RecordRepair(ctx, s.by(), v, RepairInput{Repair: OtherRepair, Note: "tightened a lug"}))(t)
	s.ok(s.Close(ctx, s.by(), v, CloseInput{Outcome: "returning"}))

	s.engines = newEngines(func(Situation) (Reasoner, error) { return nil, errors.New("boom") })
	v, _ = s.call()
	if _, err := s.Advise(ctx, v); err == nil || !strings.Contains(err.Error(), "boom") {
		t.Errorf("Advise = %v", err)
	}
	if list := must(s.Checks(ctx, v))(t); len(list) < 20 {
		t.Errorf("only %d checks without advice", len(list))
	}
}

func TestInHundred(t *testing.T) {
	for p, want := range map[float64]string{0: "under 1 in 100", 0.004: "under 1 in 100", 0.006: "1 in 100", 0.5: "50 in 100", 0.994: "99 in 100", 0.996: "over 99 in 100", 1: "over 99 in 100"} {
		if got := English.inHundred(p); got != want {
			t.Errorf("English.inHundred(%v) = %s, want %s", p, got, want)
		}
	}
}

func TestBetween(t *testing.T) {
	for _, c := range []struct {
		low, high float64
		step      float64
		want      string
	}{
		{42.04e-6, 48.12e-6, 0.1e-6, "42.0 to 48.1 µF"},
		{42.04e-6, 48.12e-6, 0, "42.0 to 48.1 µF"},
		{4.9e-6, 4.9e-6, 0.1e-6, "4.9 µF"},
		{140e-6, 160e-6, 1e-6, "140 to 160 µF"},
	} {
		if got := English.between(c.low, c.high, "capacitance", "µF", c.step, standardAir); got != c.want {
			t.Errorf("English.between(%v, %v, %v) = %s, want %s", c.low, c.high, c.step, got, c.want)
		}
	}
}
