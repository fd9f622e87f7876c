package visit

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"rung/internal/diagnosis"
	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/num"
	"rung/internal/plant"
	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/refrigerant"
)

// Drift is a difference of readings that moves with load and weather, held on each
// visit against what the model expects of the sound system on that day.
type Drift struct {
	ID, Name string
	Check    string // with which it is read
	Dim      quantity.Dimension
	Unit     string
	Points   []DriftPoint // oldest first
	// Forecast is of what is over or under the model, in K, negative under it.
	Forecast Forecast
	// Ahead, Low and High are the forecast in degrees Fahrenheit over the model, Limit that on its side.
	Ahead, Low, High, Limit float64
}

// DriftPoint is one visit: what was read, and between what a sound system shows on
// that day nineteen times of twenty. All in K.
type DriftPoint struct {
	Visit               record.VisitID
	At                  time.Time
	Read                float64
	Expected, Low, High float64
	Shows, Over         string // what was read, and by how much over or under the model, in words
	// Humid says that the wet bulb was not recorded, which widens Low and High.
	Humid bool

	meter, model float64 // standard deviations, K
}

// over is what was read over what the model expects, K.
func (p DriftPoint) over() float64 { return p.Read - p.Expected }

// Beside returns in degrees Fahrenheit how far the reading is over the model, and how far a
// sound one may be.
func (p DriftPoint) Beside() (over, low, high float64) {
	unit := mustUnit(quantity.DimTempDiff, "°F")
	of := func(k float64) float64 { return unit.Of(k, standardAir) }
	return of(p.over()), of(p.Low - p.Expected), of(p.High - p.Expected)
}

// drifting is a difference that is followed.
type drifting struct {
	id, check string
	reads     []diagnosis.Ref // what it is made of
	value     func(f *refrigerant.Fluid, v []float64) (float64, error)
	tolerance string // over or under the model, from which something is to be done
	anew      []string
}

func cooling(check, point string) diagnosis.Ref {
	return diagnosis.Ref{Check: check, Point: point, Demand: diagnosis.Cool}
}

// What opens, cleans or changes anything that these differences hang on begins them anew.
var (
	airAnew = []string{"replace-filter", "enlarge-filter", "set-blower-speed", "clean-blower-wheel", "tighten-blower-wheel", "replace-blower-motor",
		"replace-blower-capacitor", "replace-ecm-module", "clean-indoor-coil", "thaw-indoor-coil", "repair-duct", "seal-return-duct", "open-registers"}
	circuitAnew = []string{"repair-leak", "recover-to-charge", "evacuate-and-recharge", "replace-txv", "secure-txv-bulb", "fit-right-orifice",
		"replace-drier", "repair-liquid-line", "replace-compressor", "wash-outdoor-coil", "replace-fan-motor", "fix-fan-blade"}
)

// practice: the tolerances are those of the usual protocols of airflow and charge: 3 °F for split
// and subcooling, 5 °F for superheat; here against the model, not against a table.
var driftings = []drifting{
	{"split", "delta-t-air", []diagnosis.Ref{cooling("delta-t-air", "return"), cooling("delta-t-air", "supply")},
		func(_ *refrigerant.Fluid, v []float64) (float64, error) { return v[0] - v[1], nil }, "3 °F", append(slices.Clone(airAnew), circuitAnew...)},
	{"superheat", "sh-sc", []diagnosis.Ref{cooling("gauge-pressures", "suction"), cooling("sh-sc", "suction-line")},
		func(f *refrigerant.Fluid, v []float64) (float64, error) {
			sat, err := f.SaturationAtPressure(quantity.Pressure(v[0]))
			return v[1] - sat.DewTemp.Kelvin(), err
		}, "5 °F", append(slices.Clone(airAnew), circuitAnew...)},
	{"subcooling", "sh-sc", []diagnosis.Ref{cooling("gauge-pressures", "liquid"), cooling("sh-sc", "liquid-line")},
		func(f *refrigerant.Fluid, v []float64) (float64, error) {
			sat, err := f.SaturationAtPressure(quantity.Pressure(v[0]))
			return sat.BubbleTemp.Kelvin() - v[1], err
		}, "3 °F", circuitAnew},
}

// mostDrifted bounds the visits looked at, of which each is solved.
// practice: of ten years with a service each; older ones tell little of the next season.
const mostDrifted = 12

// Drifts returns what moves with load and weather, of a system whose cooling is
// modelled; those of which nothing was read are left out.
func (s *Service) Drifts(ctx context.Context, system record.SystemID) ([]Drift, error) {
	p, x, err := s.loadSystem(ctx, system)
	if err != nil {
		return nil, err
	}
	var list []Drift
	visits := slices.DeleteFunc(slices.Clone(p.Visits), func(v *ledger.Visit) bool { return v.System != system })
	visits = visits[max(0, len(visits)-mostDrifted):]
	models := map[record.VisitID]*coolingDay{}
	for _, f := range driftings {
		d := Drift{ID: f.id, Name: English.say("drift-" + f.id), Check: f.check, Dim: quantity.DimTempDiff, Unit: "°F"}
		for _, v := range visits {
			if err := ctx.Err(); err != nil {
				return nil, err
			}
			if begins(v, f.anew) {
				d.Points = nil
			}
			read := s.readTogether(Here{Property: p.Property, System: x, Visit: v}, f)
			if read == nil {
				continue
			}
			if models[v.Visit] == nil {
				models[v.Visit] = s.coolingDay(Here{Property: p.Property, System: x, Visit: v})
			}
			if point, ok := s.driftPoint(models[v.Visit], f, v, read); ok {
				d.Points = append(d.Points, point)
			}
		}
		if len(d.Points) > 0 {
			d.Forecast = s.driftForecast(f, d.Points)
			d.draw()
			list = append(list, d)
		}
	}
	return list, nil
}

// draw puts the forecast into the unit in which it is drawn.
func (d *Drift) draw() {
	unit, f := mustUnit(d.Dim, d.Unit), d.Forecast
	of := func(k float64) float64 { return unit.Of(k, standardAir) }
	d.Ahead, d.Low, d.High, d.Limit = of(f.Expected), of(f.Low), of(f.High), math.Copysign(of(f.Limit), f.Expected)
}

// begins reports whether a visit did something after which a difference begins anew.
func begins(v *ledger.Visit, anew []string) bool {
	return slices.ContainsFunc(v.Repairs, func(r *ledger.Repair) bool { return slices.Contains(anew, r.Repair) })
}

// readTogether returns the readings that make up a difference, of the last epoch
// of a visit if it was read then: settled, in cooling, doubted by nobody. Nil if it was not.
func (s *Service) readTogether(h Here, f drifting) []float64 {
	epoch := h.Visit.Epoch()
	if epoch > 0 && !begins(h.Visit, f.anew) {
		for epoch > 0 && !readAt(h.Visit, f, epoch) {
			epoch-- // nothing that was repaired since has a part in it
		}
	}
	var list []float64
	for _, ref := range f.reads {
		r, known := h.Visit.Latest(ref.Check, ref.Point, string(ref.Demand), epoch)
		if !known || r.Unsettled || r.Doubt != "" {
			return nil
		}
		_, p, known := s.checkPoint(ref)
		if !known {
			return nil
		}
		o, ok := outcomeOf(p, r, ambientOf(h))
		if !ok || o.Kind != isValue {
			return nil
		}
		list = append(list, o.Value)
	}
	return list
}

func readAt(v *ledger.Visit, f drifting, epoch int) bool {
	return !slices.ContainsFunc(f.reads, func(ref diagnosis.Ref) bool {
		_, known := v.Latest(ref.Check, ref.Point, string(ref.Demand), epoch)
		return !known
	})
}

// checkPoint returns the check and the point of a ref.
func (s *Service) checkPoint(ref diagnosis.Ref) (*fieldtest.Check, *fieldtest.Point, bool) {
	c, known := s.checks().Check(ref.Check)
	if !known {
		return nil, nil, false
	}
	p, known := pointOf(c, ref.Point)
	return c, p, known
}

// coolingDay is the sound system on the day of a visit: solved at the humidity that
// was recorded, or at both ends of what is usual.
type coolingDay struct {
	fluid  *refrigerant.Fluid
	states []*plant.State // the first is the one to go by
}

// drySide and wetSide are the ends of the humidity of return air where no wet bulb was
// recorded. practice: rooms that are cooled lie between.
const drySide, wetSide = 0.35, 0.65

// coolingDay solves the system on the day of a visit; without a state where the weather of the
// day was not recorded or the charge could not have been judged in it, or where no model fits.
func (s *Service) coolingDay(h Here) *coolingDay {
	none := &coolingDay{}
	d := s.lay(h, English)
	side := d.side
	if side.wired != nil {
		side = d.other
	}
	if side == nil || side.wired != nil || !d.situation.OutdoorKnown || d.possible() != nil {
		return none
	}
	at := side.situation.Surroundings
	if at.Outdoor < diagnosis.DefaultSettings().OutdoorLimit {
		return none
	}
	if dry, known := s.returnRead(h); known {
		at.ReturnDryBulb = dry
		if _, told := h.Visit.Surroundings["return-wet-bulb"]; !told {
			at.ReturnWetBulb = d.wetBulb(dry)
		}
	}
	p, err := s.engines.plant(side.situation.Plate)
	if err != nil {
		return none
	}
	solver, err := p.NewSolver()
	if err != nil {
		return none
	}
	day := &coolingDay{fluid: p.Fluid()}
	for _, wet := range d.wetBulbs(at) {
		at.ReturnWetBulb = wet
		sound := p.Healthy()
		state, err := solver.Solve(&sound, at, plant.Cool)
		if err != nil {
			return none
		}
		day.states = append(day.states, state)
	}
	return day
}

// returnRead is the dry bulb of the return air as a check of the visit read it.
func (s *Service) returnRead(h Here) (quantity.Temperature, bool) {
	for epoch := h.Visit.Epoch(); epoch >= 0; epoch-- {
		if r, known := h.Visit.Latest("delta-t-air", "return", "cool", epoch); known {
			si, ok := inSI(quantity.DimTemperature, r.AsRead, standardAir)
			return quantity.Temperature(si), ok
		}
	}
	return 0, false
}

// wetBulbs returns the wet bulb that was recorded; else that of usual humidity, and
// those of both ends.
func (d *desk) wetBulbs(at plant.Surroundings) []quantity.Temperature {
	list := []quantity.Temperature{at.ReturnWetBulb}
	if _, told := d.Visit.Surroundings["return-wet-bulb"]; told {
		return list
	}
	for _, humidity := range []float64{drySide, wetSide} {
		if wet, ok := wetBulbAt(at.ReturnDryBulb, quantity.RelativeHumidity(humidity), d.ambient); ok {
			list = append(list, wet)
		}
	}
	return list
}

// driftPoint holds what was read against the model.
func (s *Service) driftPoint(day *coolingDay, f drifting, v *ledger.Visit, read []float64) (DriftPoint, bool) {
	p := DriftPoint{Visit: v.Visit, At: v.Opened.At, Humid: len(day.states) > 1}
	if len(day.states) == 0 {
		return p, false
	}
	var err error
	if p.Read, err = f.value(day.fluid, read); err != nil {
		return p, false
	}
	low, high := math.Inf(1), math.Inf(-1)
	var sound []float64
	for i, state := range day.states {
		expected := make([]float64, len(f.reads))
		for k, ref := range f.reads {
			_, point, known := s.checkPoint(ref)
			if !known {
				return p, false
			}
			o := point.Predict(state)
			if o.Kind != fieldtest.IsValue {
				return p, false
			}
			expected[k] = o.Value
		}
		y, err := f.value(day.fluid, expected)
		if err != nil {
			return p, false
		}
		if i == 0 {
			p.Expected, sound = y, expected
		}
		low, high = min(low, y), max(high, y)
	}
	if p.meter, p.model, err = s.doubt(day.fluid, f, sound); err != nil {
		return p, false
	}
	p.model = math.Hypot(p.model, (high-low)/(2*math.Sqrt(3))) // anything between the ends alike
	// published: JCGM 100:2008, table G.1: nineteen of twenty lie within 1.96 of a normal deviate.
	p.Low, p.High = p.Expected-1.96*math.Hypot(p.meter, p.model), p.Expected+1.96*math.Hypot(p.meter, p.model)
	p.Shows = inUnit(p.Read, quantity.DimTempDiff, "°F", p.meter/fineness, standardAir)
	p.Over = besideModel(p.over(), p.meter/fineness)
	return p, true
}

// doubt returns the standard deviations of a difference by its meters and by what
// the model misses, each reading carried through it one by one.
//
// published: JCGM 100:2008, 5.1.2 (uncorrelated inputs), the derivatives by a step of one
// standard deviation (5.1.3, note 2).
func (s *Service) doubt(fluid *refrigerant.Fluid, f drifting, v []float64) (meter, model float64, err error) {
	y, err := f.value(fluid, v)
	if err != nil {
		return 0, 0, err
	}
	for k, ref := range f.reads {
		_, p, _ := s.checkPoint(ref)
		instrument, all := p.Meter.Instrument(v[k]), p.Meter.Sigma(v[k])
		moved := slices.Clone(v)
		moved[k] += instrument
		z, err := f.value(fluid, moved)
		if err != nil {
			return 0, 0, err
		}
		slope := (z - y) / instrument
		meter += slope * slope * instrument * instrument
		model += slope * slope * (all*all - instrument*instrument)
	}
	return math.Sqrt(meter), math.Sqrt(model), nil
}

// driftForecast carries what is over the model on to the next season. The model may miss this
// system by as much on every visit: that no number of readings takes away.
func (s *Service) driftForecast(f drifting, points []DriftPoint) Forecast {
	out := Forecast{Readings: len(points)}
	like := English.phrase("drift-like")
	if len(points) < fewest {
		out.Text = English.say("forecast-few", "count", fmt.Sprint(len(points)), "like", like)
		return out
	}
	last := points[len(points)-1]
	var x, y []float64
	for _, p := range points {
		x, y = append(x, p.At.Sub(last.At).Hours()/yearHours), append(y, p.over())
	}
	season := s.nextSeason()
	ahead := season.Sub(last.At).Hours() / yearHours
	line, err := num.FitLine(x, y)
	if err != nil || ahead > -x[0] {
		out.Text = English.say("forecast-far", "count", fmt.Sprint(len(points)), "day", season.Format("2 January 2006"))
		return out
	}
	mid, scale := line.Predict(ahead, last.meter)
	q, err := num.StudentQuantile(0.95, line.Points-2)
	if err != nil {
		panic("visit: " + err.Error()) // three points at least
	}
	out.At, out.Expected, out.Low, out.High = season, mid, mid-q*scale, mid+q*scale
	out.Limit = mustSI(f.tolerance, quantity.DimTempDiff)
	side, sign := "high", 1.0
	if mid < 0 {
		side, sign = "low", -1
	}
	all := math.Hypot(scale, last.model)
	under, err := num.StudentBelow((out.Limit-sign*mid)/all, line.Points-2)
	if err != nil {
		panic("visit: " + err.Error()) // scale is that of a meter at least
	}
	out.Odds = 1 - under
	step := last.meter / fineness
	beside := func(v float64) string { return besideModel(v, step) }
	out.Text = English.say("drift", "day", season.Format("2 January 2006"), "what", English.lower(English.say("drift-"+f.id)), "expected", beside(mid),
		"low", beside(out.Low), "high", beside(out.High), "count", fmt.Sprint(len(points))) + " " +
		English.say("drift-odds-"+side, "odds", English.inHundred(out.Odds), "limit", f.tolerance, "model", inUnit(last.model, quantity.DimTempDiff, "°F", step, standardAir))
	if out.Odds >= recommendFrom {
		out.Recommend = English.say("drift-recommend-"+f.id+"-"+side, "odds", English.inHundred(out.Odds), "limit", f.tolerance)
	}
	return out
}

// besideModel says by how much something in K is over or under the model, to a step.
func besideModel(over, step float64) string {
	by := inUnit(math.Abs(over), quantity.DimTempDiff, "°F", step, standardAir)
	if over < 0 {
		return English.phrase("drift-under", "by", by)
	}
	return English.phrase("drift-over", "by", by)
}
