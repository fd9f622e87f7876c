package diagnosis

import (
	"math/rand/v2"
	"testing"
)

// someCase returns a case with random readings, person, setup, hazards and repairs.
func someCase(w *synthetic, r *rand.Rand) Case {
	c := Case{
		Person: Person{Role: []Role{Mechanic, Apprentice, ""}[r.IntN(3)], Supervised: r.IntN(2) == 0,
			Refrigerant: r.IntN(2) == 0, Gas: r.IntN(2) == 0, Electrician: r.IntN(4) == 0},
	}
	for _, s := range w.SetupStates() {
		if r.IntN(2) == 0 {
			c.Setup = append(c.Setup, s.ID)
		}
	}
	if r.IntN(3) == 0 {
		c.Hazards = []Hazard{[]Hazard{HazardGasSmell, HazardCarbonMonoxide, HazardFire, HazardRefrigerantFlammable, HazardWaterNearLive}[r.IntN(5)]}
	}
	if r.IntN(3) == 0 {
		c.Charge = openGate
	}
	if r.IntN(4) == 0 {
		c.Repairs = []string{w.repairs[r.IntN(len(w.repairs))].ID}
	}
	hidden := w.hide(r.IntN(len(w.hyps)), r.Uint64()%1000)
	for i := range r.IntN(10) {
		c.Readings = append(c.Readings, hidden.read(w.points[r.IntN(len(w.points))].Ref, i+1, r.IntN(c.Epoch()+1)))
	}
	return c
}

// allowed repeats the rules in other words than the program, as a table.
func allowed(c Case, s SafetyClass, l Licence) bool {
	if l == RefrigerantLicence && !c.Person.Refrigerant || l == ElectricianLicence && !c.Person.Electrician || l == GasLicence && !c.Person.Gas {
		return false
	}
	for _, h := range c.Hazards {
		if h != HazardWaterNearLive || s == S2 || s == S3 || s == S6 {
			return false
		}
	}
	trusted := c.Person.Role == Mechanic || c.Person.Supervised
	return map[SafetyClass]bool{S0: true, S1: true, S2: trusted, S3: trusted,
		S4: trusted && c.Person.Refrigerant, S5: trusted && c.Person.Gas, S6: c.Person.Electrician}[s]
}

func TestNothingUnsafeIsProposed(t *testing.T) {
	w := newSynthetic(18, 20, 3)
	e := mustEngine(t, w)
	r := rand.New(rand.NewPCG(4, 4))
	repairs, checks := 0, 0
	for range 300 {
		c := someCase(w, r)
		a := mustAdvise(t, e, c)
		for _, s := range a.Next {
			checks++
			ck := e.checks[e.checkAt[s.Check]]
			if class := ck.Safety; !allowed(c, class, ck.Licence) || class != s.Safety {
				t.Fatalf("check %s of class S%d proposed to %+v with hazards %v", s.Check, class, c.Person, c.Hazards)
			}
			if s.SetupMinutes < 0 || s.CheckMinutes <= 0 {
				t.Fatalf("check %s takes %g + %g minutes", s.Check, s.SetupMinutes, s.CheckMinutes)
			}
		}
		if a.Verdict != VerdictRepair {
			continue
		}
		repairs++
		rep := e.repairs[e.repair[a.Repair.ID]]
		if !allowed(c, rep.Safety, rep.Licence) || rep.Charge && !a.Charge.Open || len(a.Repair.Held) > 0 {
			t.Fatalf("repair %s of class S%d proposed to %+v with hazards %v, held %v", rep.ID, rep.Safety, c.Person, c.Hazards, a.Repair.Held)
		}
	}
	if repairs < 5 || checks < 50 {
		t.Errorf("only %d repairs and %d checks came up", repairs, checks)
	}
}

func TestHazardStopsAllWork(t *testing.T) {
	e := mustEngine(t, newSynthetic(18, 20, 3))
	for _, h := range []Hazard{HazardGasSmell, HazardCarbonMonoxide, HazardFire, HazardRefrigerantFlammable} {
		c := start()
		c.Hazards = []Hazard{h}
		a := mustAdvise(t, e, c)
		if a.Verdict != VerdictEscalate || len(a.Next) > 0 || a.Warnings[0].Kind != WarnHazard {
			t.Errorf("%s: verdict %s, %d proposals, warnings %v", h, a.Verdict, len(a.Next), a.Warnings)
		}
	}
}

func TestSwitchingIsNeverNegativeAndFreeWhenSet(t *testing.T) {
	e := mustEngine(t, newSynthetic(6, 6, 1))
	needs := []Need{{"panel", true}, {"power", false}}
	for _, row := range []struct {
		setup []string
		want  float64
	}{
		{nil, 4}, {[]string{"panel"}, 0}, {[]string{"power"}, 6}, {[]string{"panel", "power"}, 2},
	} {
		if _, got := e.switching(e.setupOf(Case{Setup: row.setup}), needs); got != row.want {
			t.Errorf("from %v: %g minutes, want %g", row.setup, got, row.want)
		}
	}
}

func TestRefusedPointsAreNotProposedAgain(t *testing.T) {
	w := newSynthetic(18, 20, 3)
	e := mustEngine(t, w)
	c := start()
	for range 5 {
		a := mustAdvise(t, e, c)
		for _, ref := range a.Next[0].Refs {
			for _, r := range c.Refused {
				if r.Ref == ref {
					t.Errorf("%v proposed again after it could not be done", ref)
				}
			}
			c.Refused = append(c.Refused, Refusal{Ref: ref})
		}
		if b := mustAdvise(t, e, c); b.Causes[0].Probability != a.Causes[0].Probability {
			t.Errorf("a refusal changed the belief")
		}
	}
}

// practice: the list of prerequisites common to residential charge protocols.
func TestChargeGate(t *testing.T) {
	s := DefaultSettings()
	if g := JudgeCharge(openGate, s); !g.Open || len(g.Reasons) > 0 {
		t.Errorf("all known, and the gate is shut: %v", g.Reasons)
	}
	for want, change := range map[ChargeReason]func(*ChargeFacts){
		ChargeRefrigerantUnknown: func(f *ChargeFacts) { f.RefrigerantKnown = false },
		ChargeNotPumping:         func(f *ChargeFacts) { f.CompressorPumping = false },
		ChargeNotSettled:         func(f *ChargeFacts) { f.Settled = false },
		ChargeDirty:              func(f *ChargeFacts) { f.FilterAndCoilsClean = false },
		ChargeAirflowUnknown:     func(f *ChargeFacts) { f.AirflowKnown = false },
		ChargeMeteringUnknown:    func(f *ChargeFacts) { f.MeteringKnown = false },
		ChargeOutdoorUnknown:     func(f *ChargeFacts) { f.Outdoor = 0 },
		ChargeTooCool:            func(f *ChargeFacts) { f.Outdoor = 291.4 }, // 64.9 °F
		ChargeWetBulbUnknown:     func(f *ChargeFacts) { f.FixedOrifice, f.ReturnWetBulbKnown = true, false },
	} {
		f := openGate
		change(&f)
		g := JudgeCharge(f, s)
		if g.Open || len(g.Reasons) != 1 || g.Reasons[0] != want {
			t.Errorf("%s: open %v, reasons %v", want, g.Open, g.Reasons)
		}
		if (g.ReturnAbove > 0) != (want == ChargeTooCool) {
			t.Errorf("%s: return above %g K", want, g.ReturnAbove)
		}
	}
	s.OutdoorLimit = 280 // below 55 °F: the floor holds
	f := openGate
	f.Outdoor = 285
	if g := JudgeCharge(f, s); g.Open || g.OutdoorLimit != lowestOutdoorLimit {
		t.Errorf("at 285 K with a limit of 280 K: open %v, limit %g K", g.Open, g.OutdoorLimit)
	}
	if _, err := NewEngine(newSynthetic(6, 6, 1), s); err == nil {
		t.Errorf("an engine accepts an outdoor limit of 280 K")
	}
}

// With the gate shut a charge repair is named, but not proposed.
func TestShutGateHoldsTheChargeRepair(t *testing.T) {
	w := newSynthetic(24, 24, 5)
	for i := range w.repairs {
		w.repairs[i].Charge = true
	}
	e := mustEngine(t, w)
	c := start()
	c.Charge.Outdoor = 283
	_, a := play(t, e, w.hide(5, 1), c)
	if a.Verdict == VerdictRepair || a.Repair == nil || len(a.Repair.Held) == 0 || a.Repair.Held[0] != HeldCharge {
		t.Errorf("verdict %s, repair %+v", a.Verdict, a.Repair)
	}
	if a.Charge.Open || a.Charge.ReturnAbove != DefaultSettings().OutdoorLimit {
		t.Errorf("gate %+v", a.Charge)
	}
}

// opening knows one point that makes the airflow known.
type opening struct {
	*synthetic
	ref Ref
}

func (o opening) Opens(r ChargeReason, _ []Reading) []Ref {
	if r == ChargeAirflowUnknown {
		return []Ref{o.ref}
	}
	return nil
}

// A gate that a reading can open makes that reading the next check.
func TestGateCheckComesFirstWhenTheChargeRepairLeads(t *testing.T) {
	w := newSynthetic(24, 24, 5)
	for i := range w.repairs {
		w.repairs[i].Charge, w.repairs[i].Licence, w.repairs[i].Safety = true, NoLicence, S1
	}
	ref := w.points[0].Ref // of check-00, class S0
	e := mustEngine(t, opening{w, ref})
	c := start()
	c.Charge.AirflowKnown = false
	hidden := w.hide(5, 1)
	for range 20 {
		a := mustAdvise(t, e, c)
		if a.Verdict != VerdictCheck {
			t.Fatalf("verdict %s after %d readings", a.Verdict, len(c.Readings))
		}
		if a.Next[0].Kind == ForCharge {
			if a.Next[0].Refs[0] != ref || a.Next[0].Opens != ChargeAirflowUnknown {
				t.Errorf("for the gate: %+v", a.Next[0])
			}
			c.Charge.AirflowKnown = true
			b := mustAdvise(t, e, c)
			if b.Verdict == VerdictCheck && b.Next[0].Kind == Confirm { // it hangs on one reading
				c.Readings = append(c.Readings, hidden.read(b.Next[0].Refs[0], len(c.Readings)+1, 0))
				b = mustAdvise(t, e, c)
			}
			if b.Verdict != VerdictRepair {
				t.Errorf("gate open: %s %+v", b.Verdict, b.Repair)
			}
			return
		}
		for _, r := range a.Next[0].Refs {
			c.Readings = append(c.Readings, hidden.read(r, len(c.Readings)+1, 0))
		}
	}
	t.Errorf("no check for the gate came up")
}

func TestInvasiveRepairNeedsMoreThanOneReading(t *testing.T) {
	w := newSynthetic(24, 24, 5)
	for i := range w.repairs {
		w.repairs[i].Invasive = true
	}
	e := mustEngine(t, w)
	for h := 1; h <= 24; h++ {
		c, a := play(t, e, w.hide(h, 6), start())
		checks, refs := map[string]bool{}, map[Ref]bool{}
		for _, r := range c.Readings {
			if refs[r.Ref] { // read again: counts for two
				checks["again"] = true
			}
			checks[r.Check], refs[r.Ref] = true, true
		}
		if a.Verdict == VerdictRepair && (len(checks) < 2 || a.Stop.Certainty < 0.7) {
			t.Errorf("%s: invasive repair after %d checks at %.2f", w.hyps[h].ID, len(checks), a.Stop.Certainty)
		}
	}
}
