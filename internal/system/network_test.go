package system

import (
	"testing"
	"time"

	"rung/internal/circuit"
	"rung/internal/published"
)

// TestPublishedNetworks compares descriptions with networks of like units that
// were computed elsewhere.
func TestPublishedNetworks(t *testing.T) {
	for _, row := range published.Read(t, "networks.txt").Rows {
		s := mustBuild(t, row.Text("system"), row.Text("fault"))
		at := time.Duration(row.Number(t, "at") * float64(time.Second))
		v, err := mustPlay(t, s, row.Text("call"), 10*time.Minute, at).Volts(row.Text("from"), row.Text("to"), circuit.HighImpedance)
		if err != nil {
			t.Fatalf("%v: %v", row, err)
		}
		row.Check(t, "reading", float64(v), published.Within(row.Number(t, "tolerance")))
	}
}

// TestPublishedOpposedTransformers gives the loop through two opposed
// transformers the resistances of a network that was computed elsewhere, and
// wants its current. With the cables and bonds of the description it is 11 A.
func TestPublishedOpposedTransformers(t *testing.T) {
	d, _ := Describe("twin-transformers")
	f, ok := d.Fault("rc-rh-tied-opposed-fuses-bridged")
	if !ok {
		t.Fatal("no such fault")
	}
	edits := append([]Edit(nil), f.Edits[:2]...) // the jumper in, a transformer turned round
	edits = append(edits, Edit{"open", "stat-electronics"}, Edit{"ohms", "jumper", "0.01"},
		Edit{"short", "A-SEC", "A-R", "0.02"}, Edit{"short", "B-SEC", "B-R", "1e-5"})
	for _, id := range []string{"leg-1", "boiler-breaker", "air-breaker", "boiler-neutral", "air-neutral", "boiler-bond", "air-bond", "cable-rh", "cable-rc"} {
		edits = append(edits, Edit{"ohms", id, "1e-5"})
	}
	s, err := d.Build(edits...)
	if err != nil {
		t.Fatal(err)
	}
	amps, err := mustPlay(t, s, "cool", time.Minute, -time.Second).Amps("jumper")
	if err != nil {
		t.Fatal(err)
	}
	published.Read(t, "opposed-transformers.txt").CheckList(t, map[string]float64{
		"lv-two-transformers-opposed circulating-current": float64(amps)})
}
