package diagnosis

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"rung/internal/fault"
	"rung/internal/fieldtest"
	"rung/internal/plant"
	"rung/internal/system"
)

// wiredHouse is a described system with a hidden fault, whose numbers are off by
// what the model is known to miss by.
type wiredHouse struct {
	e    *Engine
	on   *fieldtest.Wired
	edit []system.Edit
	seen map[Demand][]fieldtest.Outcome
	rng  *rand.Rand
}

// read reads a point as a meter shows it.
func (h *wiredHouse) read(tb testing.TB, ref Ref, seq int) Reading {
	tb.Helper()
	demand, err := plant.ParseDemand(string(ref.Demand))
	if err != nil {
		tb.Fatal(err)
	}
	if h.seen[ref.Demand] == nil {
		if h.seen[ref.Demand], err = h.on.Read(demand, h.edit...); err != nil {
			tb.Fatal(err)
		}
	}
	i := h.on.Find(ref.Check, ref.Point, demand)
	o := outcomeOf(h.seen[ref.Demand][i])
	if m := h.on.Points[i].Point.Meter; o.Kind == IsValue && !(m.OpenAtTop && o.Value >= m.High) {
		o.Value += h.rng.NormFloat64() * m.Sigma(o.Value) * math.Min(1, math.Abs(o.Value)/(m.Limit(o.Value)+1e-12))
		o.Value = math.Min(math.Max(o.Value, m.Low), m.High)
	}
	return Reading{ID: fmt.Sprint(seq), Ref: ref, Outcome: o, Seq: seq}
}

// follow takes the first proposal until there is none.
func (h *wiredHouse) follow(tb testing.TB, c Case, n int) (Case, Advice, []string) {
	tb.Helper()
	var done []string
	for {
		a, err := h.e.Advise(c)
		if err != nil {
			tb.Fatal(err)
		}
		if a.Verdict != VerdictCheck || len(a.Next) == 0 || len(done) == n {
			return c, a, done
		}
		next := a.Next[0]
		done = append(done, next.Check)
		for _, st := range next.Setup {
			c.Setup = switched(c.Setup, st)
		}
		for _, ref := range next.Refs {
			c.Readings = append(c.Readings, h.read(tb, ref, len(c.Readings)+1))
		}
	}
}

// catalogues returns both catalogues.
func catalogues(tb testing.TB) (*fault.Catalogue, *fieldtest.Catalogue) {
	tb.Helper()
	faults, err := fault.Load()
	if err != nil {
		tb.Fatal(err)
	}
	checks, err := fieldtest.Load()
	if err != nil {
		tb.Fatal(err)
	}
	return faults, checks
}

// worstComplaint is what a fault brings most often of what the system can bring.
func worstComplaint(faults *fault.Catalogue, f *fault.Fault, modes []string) string {
	best, share := "", 0.0
	list := faults.ComplaintsIn(modes...)
	for _, c := range list {
		if x := f.Share(c.ID, len(list)); x > share {
			best, share = c.ID, x
		}
	}
	return best
}

// Hidden faults of described systems end in the right repair. The houses are
// those of the descriptions, so this tells whether the checks of the catalogue
// suffice, and not how the engine does in the field.
//
// Normally one fault in eight of each system is played; with RUNG_SWEEP=1 all are:
//
//	RUNG_SWEEP=1 go test ./internal/diagnosis -run TestFindsHiddenWiringFaults -v
func TestFindsHiddenWiringFaults(t *testing.T) {
	faults, checks := catalogues(t)
	every := 8
	if sweepAll() {
		every = 1
	}
	calls, right, repairs := 0, 0, 0
	for _, id := range system.IDs() {
		d, _ := system.Describe(id)
		on, err := checks.On(d)
		if err != nil {
			t.Fatal(err)
		}
		engines := map[string]*Engine{}
		n, good, done := 0, 0, 0
		var amiss []string
		for i, f := range FaultsOf(faults, d) {
			if i%every != every/2 {
				continue
			}
			complaint := worstComplaint(faults, f, ModesOf(on))
			e := engines[complaint]
			if e == nil {
				if e, err = OpenWired(Wired{System: d, Faults: faults, Checks: checks, Complaint: complaint}, DefaultSettings()); err != nil {
					t.Fatal(err)
				}
				engines[complaint] = e
			}
			listed, _ := d.Fault(f.ID)
			h := &wiredHouse{e: e, on: on, seen: map[Demand][]fieldtest.Outcome{}, rng: rand.New(rand.NewPCG(uint64(i), 5))}
			if h.edit, err = listed.EditsAt(h.rng.Float64()); err != nil {
				t.Fatal(err)
			}
			_, a, steps := h.follow(t, Case{Person: able}, 30)
			n, done = n+1, done+len(steps)
			switch {
			case a.Repair != nil && a.Verdict == VerdictRepair && a.Repair.ID == f.Repair:
				good, repairs = good+1, repairs+1
			case a.Verdict == VerdictRepair:
				repairs++
				amiss = append(amiss, fmt.Sprintf("%s (%s): repair %s at %.2f after %v", f.ID, complaint, a.Repair.ID, a.Stop.Certainty, steps))
			default:
				amiss = append(amiss, fmt.Sprintf("%s (%s): %s after %v; leader %s %.2f", f.ID, complaint, a.Verdict, steps, a.Causes[0].ID, a.Causes[0].Probability))
			}
		}
		calls, right = calls+n, right+good
		t.Logf("%s: %d calls, %d right, %.1f checks each", id, n, good, float64(done)/float64(max(n, 1)))
		for _, line := range amiss {
			t.Log("    " + line)
		}
	}
	t.Logf("%d calls, %d repairs, %d right", calls, repairs, right)
	// Nine in ten came out right when all were played; a fifth may be handed over.
	if right < calls*8/10 {
		t.Errorf("%d calls, %d repairs, %d right", calls, repairs, right)
	}
}
