package system

import (
	"bufio"
	"math"
	"os"
	"strings"
	"testing"
	"time"

	"rung/internal/circuit"
)

// TestFaultsAreToldApart compares every two faults of the systems listed in
// testdata/alike.txt by what a voltmeter, a clamp and the instruments of the gas
// and air side show at any point on any call: they differ by a volt, 0.05 A or a
// twentieth of the reading, or the file says what else tells them apart.
//
//	system ID
//	alike FAULT FAULT "WHAT TELLS THEM APART"
func TestFaultsAreToldApart(t *testing.T) {
	text, err := os.ReadFile("testdata/alike.txt")
	if err != nil {
		t.Fatal(err)
	}
	alike := map[string]map[[2]string]bool{}
	system := ""
	sc := bufio.NewScanner(strings.NewReader(string(text)))
	for sc.Scan() {
		words, err := split(sc.Text())
		switch {
		case err != nil:
			t.Fatal(err)
		case len(words) == 2 && words[0] == "system":
			system = words[1]
			alike[system] = map[[2]string]bool{}
		case len(words) == 4 && words[0] == "alike":
			alike[system][[2]string{words[1], words[2]}] = true
		case len(words) > 0:
			t.Fatalf("cannot read %q", words)
		}
	}
	for id, pairs := range alike {
		toldApart(t, id, pairs)
	}
}

func toldApart(t *testing.T, id string, alike map[[2]string]bool) {
	d, _ := Describe(id)
	shown := make([][]float64, len(d.Faults))
	for i, f := range d.Faults {
		if f.Inherited {
			continue
		}
		shown[i] = allReadings(t, d, f.ID)
		for j := range i {
			if d.Faults[j].Inherited {
				continue
			}
			pair := [2]string{d.Faults[j].ID, f.ID}
			most := 0.0
			for k, x := range shown[i] {
				most = math.Max(most, math.Abs(x-shown[j][k]))
			}
			if same := most < 1; same != alike[pair] {
				t.Errorf("%s: %v differ by %.3g at most; listed as alike: %v", id, pair, most, alike[pair])
			}
		}
	}
}

// allReadings returns the volts from every point to every rail of the ladders,
// amps times 20, and what other instruments measure in twentieths, at some
// moments of every call.
func allReadings(t *testing.T, d *Description, fault string) []float64 {
	s := mustBuild(t, d.ID, fault)
	var list []float64
	for _, call := range d.Calls {
		for _, at := range []time.Duration{-time.Second, 2 * time.Second, 30 * time.Second, 41 * time.Second, 55 * time.Second, 125 * time.Second, 170 * time.Second, 190 * time.Second, 4 * time.Minute} {
			p := mustPlay(t, s, call.ID, 10*time.Minute, at)
			for _, a := range d.Points {
				for _, l := range d.Ladders {
					left, err1 := p.Volts(a.ID, l.Left, circuit.HighImpedance)
					right, err2 := p.Volts(a.ID, l.Right, circuit.HighImpedance)
					if err1 != nil || err2 != nil {
						t.Fatal(err1, err2)
					}
					list = append(list, float64(left), float64(right))
				}
			}
			for _, v := range d.Devices {
				if v.Kind != Conductor {
					a, _ := p.Amps(v.ID)
					list = append(list, 20*float64(a))
				}
			}
			for _, q := range d.Quantities {
				if x, _ := p.Quantity(q.Name); measured[q.Unit] {
					list = append(list, 20*math.Log(1+math.Abs(x)))
				}
			}
		}
	}
	return list
}
