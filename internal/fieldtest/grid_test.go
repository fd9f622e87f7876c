package fieldtest

import (
	"fmt"
	"math"
	"slices"
	"sort"
	"strings"
	"testing"

	"rung/internal/cycle"
	"rung/internal/fault"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/system"
)

// plates are nameplates over which the catalogue is tried: every combination
// of metering device, refrigerant and indoor unit (full has an air handler, the
// others a furnace), and between them every piece of equipment, fitted and not.
func plates() map[string]plant.Nameplate {
	full := plant.Nameplate{
		NominalCooling:  10551, // 3 t
		FusedDisconnect: plant.Yes, TimeDelay: plant.Yes, OutdoorBoard: plant.Yes, HighPressureSwitch: plant.Yes,
		LowPressureSwitch: plant.Yes, CrankcaseHeater: plant.Yes, StartAssist: plant.Yes, CondensatePump: plant.Yes,
		Float: plant.FloatBreaksR, Poles: plant.TwoPole, Blower: plant.PSCMotor, Indoor: plant.AirHandler, Thermostat: plant.Battery,
	}
	bare := plant.Nameplate{
		NominalCooling:  10551,
		FusedDisconnect: plant.No, TimeDelay: plant.No, OutdoorBoard: plant.No, HighPressureSwitch: plant.No,
		LowPressureSwitch: plant.No, CrankcaseHeater: plant.No, StartAssist: plant.No, CondensatePump: plant.No,
		Float: plant.NoFloat, Poles: plant.OneAndAHalfPole, Blower: plant.ConstantAirflowMotor, Indoor: plant.Furnace, Thermostat: plant.CommonWire,
	}
	with := func(n plant.Nameplate, refrigerant string, m cycle.MeteringDevice) plant.Nameplate {
		n.Refrigerant, n.Metering = refrigerant, m
		return n
	}
	some := full
	some.StartAssist, some.Float, some.CondensatePump, some.Indoor = plant.No, plant.FloatBreaksY, plant.No, plant.Furnace
	list := map[string]plant.Nameplate{
		"R-410A orifice furnace": with(some, "R-410A", cycle.FixedOrifice),
		"R-22 txv furnace":       with(some, "R-22", cycle.TXV),
		"R-410A txv bare":        with(bare, "R-410A", cycle.TXV),
		"R-22 orifice bare":      with(bare, "R-22", cycle.FixedOrifice),
	}
	for _, r := range []string{"R-410A", "R-22"} {
		list[r+" txv full"] = with(full, r, cycle.TXV)
		list[r+" orifice full"] = with(full, r, cycle.FixedOrifice)
	}
	return list
}

// summer is a usual afternoon: 90 °F outdoors, 78 and 65 °F return, 238 V.
var summer = plant.Surroundings{Outdoor: 305.37, ReturnDryBulb: 298.71, ReturnWetBulb: 291.48, Line: 238}

// severities at which the faults are tried.
var severities = []float64{0.1, 0.5, 0.9}

// healthy is the name of no fault in a grid.
const healthy = ""

// sample is what all points show under one fault at one severity, in the order
// of the grid's columns.
type sample []Outcome

type column struct {
	check  *Check
	point  *Point
	demand plant.Demand
}

func (c column) String() string {
	return fmt.Sprintf("%s %s %s", c.check.ID, c.point.ID, c.demand)
}

// grid is every fault of one plate at every severity, seen through every point.
type grid struct {
	plate   string
	plant   *plant.Plant
	columns []column
	rows    map[string][]sample // by fault id
}

var demands = []plant.Demand{plant.Off, plant.Cool, plant.Fan, plant.Heat}

func columnsOf(c *Catalogue) []column {
	var list []column
	for i := range c.Checks {
		for j := range c.Checks[i].Points {
			if p := &c.Checks[i].Points[j]; p.When == HeatSource || p.Reads == "" {
				continue
			}
			for _, d := range c.Checks[i].Points[j].Demands {
				list = append(list, column{&c.Checks[i], &c.Checks[i].Points[j], d})
			}
		}
	}
	return list
}

// look solves the plant at every demand and reads every column.
func (g *grid) look(t testing.TB, solver *plant.Solver, ps *plant.Params, what string) sample {
	t.Helper()
	return g.lookAt(t, solver, ps, summer, what)
}

func (g *grid) lookAt(t testing.TB, solver *plant.Solver, ps *plant.Params, at plant.Surroundings, what string) sample {
	t.Helper()
	row := make(sample, len(g.columns))
	for _, d := range demands {
		st, err := solver.Solve(ps, at, d)
		if err != nil {
			t.Fatalf("%s, %s, %s: %v", g.plate, what, d, err)
		}
		for i, col := range g.columns {
			if col.demand == d {
				row[i] = col.point.Predict(st)
			}
		}
	}
	return row
}

var grids []*grid // made once: the plants are the costly part

func allGrids(t testing.TB, c *Catalogue, fc *fault.Catalogue) []*grid {
	t.Helper()
	if grids != nil {
		return grids
	}
	for _, name := range sortedKeys(plates()) {
		p, err := plant.Build(plates()[name])
		if err != nil {
			t.Fatalf("%s: %v", name, err)
		}
		g := &grid{plate: name, plant: p, columns: columnsOf(c), rows: map[string][]sample{}}
		solver, err := p.NewSolver()
		if err != nil {
			t.Fatal(err)
		}
		ps := p.Healthy()
		g.rows[healthy] = []sample{g.look(t, solver, &ps, "healthy")}
		for _, f := range fc.Fits(p.Has) {
			if f.Healthy {
				continue
			}
			for _, u := range severities {
				ps := p.Healthy()
				if err := f.Apply(&ps, u); err != nil {
					t.Errorf("%s: %v", name, err)
					continue
				}
				g.rows[f.ID] = append(g.rows[f.ID], g.look(t, solver, &ps, f.ID))
			}
		}
		grids = append(grids, g)
	}
	return grids
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

// differ reports whether two outcomes of a point can be told apart in one
// look: other words, or numbers three standard deviations of the meter apart.
func (p *Point) differ(a, b Outcome) bool {
	if a.Kind != b.Kind {
		return true
	}
	if a.Kind == IsWord {
		return a.Word != b.Word
	}
	if a.Kind == NotReadable {
		return false
	}
	sigma := math.Hypot(p.Meter.Instrument(a.Value), p.Meter.Instrument(b.Value))
	return math.Abs(a.Value-b.Value) > 3*sigma
}

// Every point has an outcome in every state, finite and within what its meter
// can show.
func TestEveryPointInEveryState(t *testing.T) {
	for _, g := range allGrids(t, load(t), faults(t)) {
		for _, id := range sortedKeys(g.rows) {
			for k, row := range g.rows[id] {
				for i, o := range row {
					p := g.columns[i].point
					switch o.Kind {
					case IsValue:
						if !(p.Meter.Low <= o.Value && o.Value <= p.Meter.High) || len(p.Words) > 0 {
							t.Errorf("%s, %s %d: %s = %v", g.plate, id, k, g.columns[i], o)
						}
					case IsWord:
						if o.Word < 0 || o.Word >= len(p.Words) {
							t.Errorf("%s, %s %d: %s = %v", g.plate, id, k, g.columns[i], o)
						}
					}
				}
			}
		}
	}
}

// Every fault of the plant changes a reading on some plate, at every severity.
func TestEveryFaultShows(t *testing.T) {
	c, fc := load(t), faults(t)
	for _, f := range fc.Faults {
		if f.Healthy || f.Wiring {
			continue
		}
		fits := false
		for _, g := range allGrids(t, c, fc) {
			rows := g.rows[f.ID]
			fits = fits || len(rows) > 0
			for k, row := range rows {
				if !slices.ContainsFunc(g.differences(row, g.rows[healthy][0]), func(column) bool { return true }) {
					t.Errorf("%s at %g on %s changes nothing", f.ID, severities[k], g.plate)
				}
			}
		}
		if !fits {
			t.Errorf("%s fits no plate", f.ID)
		}
	}
}

// differences lists the columns in which two rows can be told apart.
func (g *grid) differences(a, b sample) []column {
	var list []column
	for i, col := range g.columns {
		if col.point.differ(a[i], b[i]) {
			list = append(list, col)
		}
	}
	return list
}

// Every check is changed by some fault, and every word of a point is said.
func TestEveryCheckIsOfUse(t *testing.T) {
	c, fc := load(t), faults(t)
	used, said := map[string]bool{}, map[string]bool{}
	for _, g := range allGrids(t, c, fc) {
		for _, rows := range g.rows {
			for _, row := range rows {
				for _, col := range g.differences(row, g.rows[healthy][0]) {
					used[col.check.ID+" "+col.point.ID] = true
				}
				for i, o := range row {
					if p := g.columns[i].point; o.Kind == IsWord {
						said[g.columns[i].check.ID+" "+p.ID+" "+p.Words[o.Word]] = true
					}
				}
			}
		}
	}
	for _, id := range system.IDs() {
		d, _ := system.Describe(id)
		w := on(t, c, d)
		sound := readAll(t, w)
		for _, f := range append([]system.Fault{{}}, d.Faults...) {
			for _, edits := range degrees(t, f) {
				for i, o := range readAll(t, w, edits...) {
					p := &w.Points[i]
					name := p.Check.ID + " " + p.Point.ID
					used[name] = used[name] || p.Point.differ(o, sound[i])
					if o.Kind == IsWord {
						said[name+" "+p.Point.Words[o.Word]] = true
					}
				}
			}
		}
	}
	for _, k := range c.Checks {
		for _, p := range k.Points {
			if p.When == HeatSource {
				continue // never predicted
			}
			if !used[k.ID+" "+p.ID] {
				t.Errorf("no fault changes %s %s", k.ID, p.ID)
			}
			for _, w := range p.Words {
				if !said[k.ID+" "+p.ID+" "+w] {
					t.Errorf("%s %s never says %q", k.ID, p.ID, w)
				}
			}
		}
	}
}

// degrees returns the edits of a fault at the severities, or its only ones.
func degrees(t *testing.T, f system.Fault) [][]system.Edit {
	t.Helper()
	if !f.HasDegrees() {
		return [][]system.Edit{f.Edits}
	}
	var list [][]system.Edit
	for _, u := range severities {
		edits, err := f.EditsAt(u)
		if err != nil {
			t.Fatal(err)
		}
		list = append(list, edits)
	}
	return list
}

// Every two faults are told apart by some check wherever both can be, or they
// are listed as alike. What is listed must be alike somewhere.
func TestFaultsAreToldApart(t *testing.T) {
	c, fc := load(t), faults(t)
	listed := map[string]bool{}
	for _, a := range c.Alikes {
		if _, ok := fc.Fault(a.Fault); !ok {
			t.Errorf("alike %s: no such fault", a.Fault)
		}
		for _, id := range a.With {
			if _, ok := fc.Fault(id); !ok {
				t.Errorf("alike %s: no fault %s", a.Fault, id)
			}
			listed[pairKey(a.Fault, id)] = true
		}
	}
	alike := map[string]bool{}
	for _, g := range allGrids(t, c, fc) {
		ids := sortedKeys(g.rows)
		for i, a := range ids {
			for _, b := range ids[i+1:] {
				if a != healthy && g.alike(a, b) {
					alike[pairKey(a, b)] = true
				}
			}
		}
	}
	for _, pair := range sortedKeys(alike) {
		if !listed[pair] {
			t.Errorf("nothing tells apart, and it is not listed: %s", pair)
		}
	}
	for _, pair := range sortedKeys(listed) {
		if !alike[pair] {
			t.Errorf("listed as alike, and a check tells them apart everywhere: %s", pair)
		}
	}
}

// alike reports whether at some severities no point tells a from b.
func (g *grid) alike(a, b string) bool {
	for _, x := range g.rows[a] {
		for _, y := range g.rows[b] {
			if len(g.differences(x, y)) == 0 {
				return true
			}
		}
	}
	return false
}

func pairKey(a, b string) string {
	list := []string{a, b}
	sort.Strings(list)
	return strings.Join(list, " and ")
}

// A sound system shows what the trade calls normal.
//
// practice: usual figures of the residential trade on a 90 °F day, return 78
// and 65 °F; the limits are those figures, which are themselves wide.
func TestHealthyReadsAsTheTradeExpects(t *testing.T) {
	c := load(t)
	const psi, degF, inWC = 6894.757, 5.0 / 9, 249.089 // published: NIST SP 811
	for _, g := range allGrids(t, c, faults(t)) {
		r22 := strings.HasPrefix(g.plate, "R-22")
		get := func(check, point string, d plant.Demand) float64 {
			for i, col := range g.columns {
				if col.check.ID == check && col.point.ID == point && col.demand == d {
					return g.rows[healthy][0][i].Value
				}
			}
			t.Fatalf("no column %s %s %s", check, point, d)
			return 0
		}
		suction, liquid := [2]float64{105, 145}, [2]float64{290, 420}
		if r22 {
			suction, liquid = [2]float64{58, 85}, [2]float64{180, 280}
		}
		rla := float64(g.plant.Nameplate().RatedLoadAmps)
		const atm = 101325
		for _, row := range []struct {
			what      string
			got       float64
			low, high float64
			unit      string
		}{
			{"control voltage at rest", get("v-r-c-board", "volts", plant.Off), 24, 29, "V"},
			{"control voltage with the call", get("v-r-c-board", "volts", plant.Cool), 22, 28, "V"},
			{"coil voltage with the call", get("v-coil-contactor", "volts", plant.Cool), 21, 28, "V"},
			{"line to the contactor", get("v-contactor-line", "volts", plant.Cool), 228, 240, "V"},
			{"over a closed pole", get("vdrop-contactor", "pole-1", plant.Cool), 0, 0.2, "V"},
			{"suction pressure", (get("gauge-pressures", "suction", plant.Cool) - atm) / psi, suction[0], suction[1], "psig"},
			{"liquid pressure", (get("gauge-pressures", "liquid", plant.Cool) - atm) / psi, liquid[0], liquid[1], "psig"},
			{"split", (get("delta-t-air", "return", plant.Cool) - get("delta-t-air", "supply", plant.Cool)) / degF, 16, 23, "°F"},
			{"discharge", (get("discharge-temp", "pipe", plant.Cool)-273.15)/degF + 32, 130, 225, "°F"},
			{"compressor amps of rated", get("a-common-compressor", "amps", plant.Cool) / rla, 0.5, 1, ""},
			{"external static", get("esp-total", "static", plant.Cool) / inWC, 0.2, 0.8, "in. w.c."},
			{"over the clean filter", get("esp-filter-coil", "filter", plant.Cool) / inWC, 0.05, 0.2, "in. w.c."},
			{"over the coil", get("esp-filter-coil", "coil", plant.Cool) / inWC, 0.1, 0.35, "in. w.c."},
			{"airflow", get("airflow-traverse", "airflow", plant.Cool) / 4.719474e-4 / 3, 330, 450, "CFM per ton"},
			{"leaving condenser air", (get("delta-t-outdoor", "leaving", plant.Cool) - float64(summer.Outdoor)) / degF, 10, 30, "°F above ambient"},
			{"capacitor under load of its plate", get("cap-under-load", "herm", plant.Cool) / float64(g.plant.Nameplate().HermCapacitance), 0.94, 1.06, ""},
		} {
			if !(row.low <= row.got && row.got <= row.high) {
				t.Errorf("%s: %s %.4g %s, want %g to %g", g.plate, row.what, row.got, row.unit, row.low, row.high)
			}
		}
	}
}

func TestPredictErrors(t *testing.T) {
	c := load(t)
	g := allGrids(t, c, faults(t))[0]
	ps := g.plant.Healthy()
	st, err := g.plant.Solve(&ps, summer, plant.Off)
	if err != nil {
		t.Fatal(err)
	}
	for _, ref := range []Ref{
		{"palm-reading", "", plant.Off},
		{"cap-bench", "third", plant.Off},
		{"cap-bench", "herm", plant.Cool},         // not read with the unit on
		{"v-coil-contactor", "volts", plant.Cool}, // the state is one at rest
	} {
		if o, err := c.Predict(st, ref); err == nil {
			t.Errorf("Predict(%+v) = %+v, want an error", ref, o)
		}
	}
	if o, err := c.Predict(st, Ref{"cap-bench", "herm", plant.Off}); err != nil || o.Kind != IsValue ||
		quantity.Capacitance(o.Value) != g.plant.Nameplate().HermCapacitance {
		t.Errorf("Predict(cap-bench herm) = %+v, %v", o, err)
	}
}
