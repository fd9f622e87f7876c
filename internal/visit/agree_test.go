package visit

import (
	"math"
	"strings"
	"testing"

	"rung/internal/plant"
	"rung/internal/quantity"
)

// Whatever single number a plate may hold, nothing that was not entered
// contradicts it: the plant takes it, or what it says names that number alone.
func TestOneFieldFitsWhatIsTaken(t *testing.T) {
	const steps = 12
	for _, f := range plateFields() {
		if f.words != nil || f.sets != nil || f.month { // sets is of a described system
			continue
		}
		low, high := mustSI(f.low, f.dim), mustSI(f.high, f.dim)
		for i := range steps + 1 {
			si := low + (high-low)*(0.001+0.998*float64(i)/steps) // the ends themselves are rounded in the data
			var n plant.Nameplate
			setPlate[f.id](&n, plateValue{si: si})
			a := agree(n)
			for _, err := range joined(a.full.Check()) {
				if says := a.objection(err); !strings.HasPrefix(says, f.name+" fits no such system") {
					t.Errorf("%s of %g: %s", f.id, si, says)
				}
			}
		}
	}
}

// Two numbers that do not go together are told by their own names, and by no
// other.
func TestObjectionsNameWhatWasEntered(t *testing.T) {
	for _, c := range []struct {
		fields map[string]float64 // SI
		says   []string
		never  []string
	}{
		{map[string]float64{"rated-load-amps": 40, "nominal-cooling": 5276},
			[]string{"Compressor rated load amps (RLA) does not go with Nominal cooling"}, []string{"Maximum fuse", "Locked"}},
		{map[string]float64{"rated-load-amps": 30, "max-protection": 20},
			[]string{"Maximum fuse or breaker does not go with Compressor rated load amps (RLA)"}, []string{"Nominal"}},
		{map[string]float64{"locked-rotor-amps": 20, "nominal-cooling": 17500}, []string{"fits no such system"}, []string{"(RLA) "}},
	} {
		var n plant.Nameplate
		for id, si := range c.fields {
			setPlate[id](&n, plateValue{si: si})
		}
		a := agree(n)
		var all []string
		for _, err := range joined(a.full.Check()) {
			all = append(all, a.objection(err))
		}
		text := strings.Join(all, "; ")
		for _, part := range c.says {
			if !strings.Contains(text, part) {
				t.Errorf("%v: %q does not say %q", c.fields, text, part)
			}
		}
		for _, part := range c.never {
			if strings.Contains(text, part) {
				t.Errorf("%v: %q speaks of %q", c.fields, text, part)
			}
		}
	}
}

// published: NEC 440.22(A) and 240.6(A), as worked in public examples: 2.25
// times the rated load amps plus the fan, and the standard rating below it.
func TestProtectionFor(t *testing.T) {
	for _, c := range [][3]float64{{18, 1.2, 40}, {14, 1, 30}, {28, 1.9, 60}, {40, 2, 80}, {4, 0.3, 10}} {
		if got := protectionFor(c[0], c[1]); got != c[2] {
			t.Errorf("protectionFor(%g, %g) = %g, want %g", c[0], c[1], got, c[2])
		}
	}
}

// What is taken otherwise than usual shows on the page of the plate.
func TestTakenOtherwise(t *testing.T) {
	s := newShop(t)
	v, u := s.call()
	s.ok(s.RecordPlate(t.Context(), s.by(), u, map[string]string{"rated-load-amps": "32", "nominal-cooling": "5 ton"}))
	if d := s.lay(must(s.Visit(t.Context(), v))(t), English); d.possible() != nil || d.plate.MaxProtection < d.plate.RatedLoadAmps {
		t.Errorf("an RLA of 32 A: %v, breaker of %g A", d.possible(), float64(d.plate.MaxProtection))
	}
	a := agree(plant.Nameplate{Airflow: quantity.VolumeFlow(mustSI("2000 CFM", quantity.DimVolumeFlow))})
	// tolerance: 1 W in the constant of 400 CFM per ton
	if want := mustSI("5 ton", quantity.DimPower); math.Abs(float64(a.full.NominalCooling)-want) > 10 {
		t.Errorf("2000 CFM alone: nominal cooling of %g W, want %g", float64(a.full.NominalCooling), want)
	}
}
