package cycle_test

import (
	"math"
	"strings"
	"testing"

	"rung/internal/cycle"
	"rung/internal/published"
)

// sample collects deviations, model less published.
type sample struct {
	n       int
	sum, sq float64
}

func (s *sample) add(d float64) {
	s.n++
	s.sum += d
	s.sq += d * d
}

func (s *sample) offset() float64  { return s.sum / float64(s.n) }
func (s *sample) rms() float64     { return math.Sqrt(s.sq / float64(s.n)) }
func (s *sample) scatter() float64 { return math.Sqrt(max(s.sq/float64(s.n)-s.offset()*s.offset(), 0)) }

// The table of discrepancies says what the published figures say now.
func TestDiscrepanciesAreWhatIsMeasured(t *testing.T) {
	table, err := cycle.Discrepancies()
	if err != nil {
		t.Fatal(err)
	}
	measured := measuredDiscrepancies(t)
	for _, d := range table {
		m := measured[d.Reading]
		if m == nil {
			t.Errorf("%s: nothing measured", d.Reading)
			continue
		}
		// Half of the last digit that the table prints.
		same := math.Abs(m.offset()-d.Offset) < 6e-3 && math.Abs(m.scatter()-d.Scatter) < 6e-3 && math.Abs(m.rms()-d.RMS) < 6e-3
		if m.n != d.Rows || !same {
			t.Errorf("%s: %d rows, offset %.2f, scatter %.2f, rms %.2f; the table says %d, %g, %g, %g",
				d.Reading, m.n, m.offset(), m.scatter(), m.rms(), d.Rows, d.Offset, d.Scatter, d.RMS)
		}
		if d.Used < d.Scatter {
			t.Errorf("%s: %g is used, less than the scatter", d.Reading, d.Used)
		}
		delete(measured, d.Reading)
	}
	for reading := range measured {
		t.Errorf("%s is measured and not in the table", reading)
	}
}

// measuredDiscrepancies compares every row that bears on a reading. The rooftop
// units, another kind of machine, and what lies outside 50 to 120 % of rated
// airflow are left out.
func measuredDiscrepancies(t *testing.T) map[string]*sample {
	t.Helper()
	all := map[string]*sample{}
	add := func(reading string, d float64) {
		if all[reading] == nil {
			all[reading] = &sample{}
		}
		all[reading].add(d)
	}
	m, fluid := laboratoryMachine(t)
	names := map[string]string{"suction-saturation[°F]": "suction-saturation", "liquid-saturation[°F]": "condensing-over-ambient",
		"superheat[°F]": "superheat-txv", "subcooling[°F]": "subcooling", "discharge-temperature[°F]": "discharge",
		"capacity-over-measured": "capacity", "power-over-measured": "power", "coil-drop[°F]": "split",
		"leaving-condenser-air[°F]": "leaving-outdoor-air"}
	for _, row := range published.Read(t, "laboratory_health.txt").Rows {
		for _, r := range laboratoryReadings(t, m, fluid, row) {
			if reading, ok := names[r.name]; ok {
				add(reading, r.model-r.measured)
			}
		}
	}
	w := newWorkbench(t)
	figures := map[string]string{"coil-drop": "split", "superheat": "superheat-orifice",
		"capacity": "capacity", "capacity-to-rating": "capacity", "power": "power", "power-to-rating": "power"}
	for _, file := range []string{"expected.txt", "fault_correlations.txt", "relative_performance.txt", "coil_air_drop.txt"} {
		for _, row := range published.Read(t, file).Rows {
			reading, ok := figures[row.Text("quantity")]
			if !ok || row.Text("relation") != "=" || strings.Contains(row.Text("settings"), "indoor-air=0.40") {
				continue
			}
			// What is generic as to metering is held against the TXV machine; a lone
			// statement of an abstract is no measurement.
			if id := row.Text("id"); reading != "superheat-orifice" && row.Text("machine") == "orifice" || strings.HasPrefix(id, "lit-") {
				continue
			}
			got := w.figure(t, w[row.Text("machine")], row.Text("quantity"), row.Text("settings"))
			add(reading, got-row.Number(t, "value"))
		}
	}
	return all
}
