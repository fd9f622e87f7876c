package visit

import (
	"context"
	"fmt"
	"math"
	"slices"
	"time"

	"rung/internal/fieldtest"
	"rung/internal/ledger"
	"rung/internal/num"
	"rung/internal/quantity"
	"rung/internal/record"
)

// Forecast says where the readings of a part are going until the next cooling
// season begins: a straight line through those of the part that is in now.
type Forecast struct {
	Text string // in words; why there is none, if so; empty for a point that is not followed
	// Readings is how many the line rests on, one of each visit.
	Readings int
	At       time.Time // for when it holds; zero if there is none
	// Expected, and nine of ten readings lie between Low and High; SI.
	Expected, Low, High float64
	// Odds are those of a reading beyond Limit (SI) at that time; meaningless
	// where Limit is 0.
	Limit, Odds float64
	Recommend   string // what to recommend; empty for nothing
}

// followed is a point whose past is carried on.
type followed struct {
	check, point string
	// field is the plate value, with share, that must not be passed; limit stands
	// where there is no such field.
	field string
	share float64
	limit string // "0.5 in. w.c."
	below bool   // passed by falling
	whose string // where the limit comes from
	// anew are the repairs after which another part, or a cleaned one, is read.
	anew []string
	// alike says that the weather moves it: only visits count with the outdoor
	// temperature near that of the last.
	alike bool
}

// practice: which readings drift with age, and what starts them anew.
var followedPoints = []followed{
	{check: "cap-bench", point: "herm", field: "herm-capacitance", share: 0.94, below: true, whose: "6 % under the rating; the printed tolerance wins", anew: []string{"replace-run-capacitor"}},
	{check: "cap-bench", point: "fan", field: "fan-capacitance", share: 0.94, below: true, whose: "6 % under the rating; the printed tolerance wins", anew: []string{"replace-run-capacitor"}},
	{check: "esp-total", point: "static", limit: "0.5 in. w.c.", whose: "the usual rating of a house blower; the unit’s plate wins",
		anew: []string{"replace-filter", "enlarge-filter", "set-blower-speed", "clean-blower-wheel", "replace-blower-motor"}},
	{check: "a-common-compressor", point: "amps", field: "rated-load-amps", share: 1, whose: "the rated load amps of the plate", anew: []string{"replace-compressor"}, alike: true},
}

const (
	// fewest readings make a line with a scatter.
	fewest = 3
	// practice: ten degrees are like conditions for amps.
	alikeOutdoors = "10 °F"
	// practice: it is recommended where it is likelier than not.
	recommendFrom = 0.5
	yearHours     = 365.25 * 24
)

// Forecast carries the readings of a point of a system on to the first of May to
// come. Of each visit the last settled reading that nobody doubts counts.
func (s *Service) Forecast(ctx context.Context, system record.SystemID, check, point string) (Forecast, error) {
	i := slices.IndexFunc(followedPoints, func(f followed) bool { return f.check == check && f.point == point })
	if i < 0 {
		return Forecast{}, nil
	}
	p, x, err := s.loadSystem(ctx, system)
	if err != nil {
		return Forecast{}, err
	}
	history, err := s.History(ctx, system, check, point)
	if err != nil {
		return Forecast{}, err
	}
	c, err := s.check(check)
	if err != nil {
		return Forecast{}, err
	}
	pt, _ := pointOf(c, point)
	f := followedPoints[i]
	return s.forecast(f, pt, f.limitOf(x), f.counting(p.Property, system, history)), nil
}

// limitOf returns the limit in SI, 0 if the plates do not tell it.
func (f followed) limitOf(x *ledger.System) float64 {
	if f.field == "" {
		return mustSI(f.limit, quantity.DimPressureDiff)
	}
	field, known := plateFieldOf(f.field)
	for _, u := range x.Units {
		if v, ok := inSI(field.dim, u.Plate[f.field].AsRead, standardAir); known && ok {
			return f.share * v
		}
	}
	return 0
}

// counting returns the readings that belong on one line.
func (f followed) counting(p *ledger.Property, system record.SystemID, history []HistoryLine) []HistoryLine {
	from, epoch := 0, 0 // the visit, and its epoch, since which this part is in
	place := map[*ledger.Visit]int{}
	for i, v := range p.Visits {
		place[v] = i
		for k, r := range v.Repairs {
			if v.System == system && slices.Contains(f.anew, r.Repair) {
				from, epoch = i, k+1
			}
		}
	}
	old := func(h HistoryLine) bool {
		return place[h.Visit] < from || place[h.Visit] == from && h.Epoch < epoch
	}
	var list []HistoryLine
	for _, h := range history {
		if !h.Number || h.Unsettled || h.Doubt != "" || math.IsNaN(h.Value) || old(h) {
			continue
		}
		if n := len(list); n > 0 && list[n-1].Visit == h.Visit {
			list = list[:n-1]
		}
		list = append(list, h)
	}
	if len(list) == 0 {
		return nil
	}
	last := list[len(list)-1]
	return slices.DeleteFunc(list, func(h HistoryLine) bool {
		return h.Demand != last.Demand || f.alike && !alikeWeather(h.Visit, last.Visit)
	})
}

// alikeWeather reports whether the outdoor temperatures of two visits are known
// and near each other.
func alikeWeather(a, b *ledger.Visit) bool {
	x, known := inSI(quantity.DimTemperature, a.Surroundings["outdoor-dry-bulb"].AsRead, standardAir)
	y, too := inSI(quantity.DimTemperature, b.Surroundings["outdoor-dry-bulb"].AsRead, standardAir)
	return known && too && math.Abs(x-y) <= mustSI(alikeOutdoors, quantity.DimTempDiff)
}

// takenAt is when a reading was read.
func takenAt(h HistoryLine) time.Time {
	if h.At != nil {
		return *h.At
	}
	return h.Stamp.At
}

// forecast puts the line through the readings.
func (s *Service) forecast(f followed, p *fieldtest.Point, limit float64, list []HistoryLine) Forecast {
	out := Forecast{Readings: len(list)}
	like := ""
	if f.alike {
		like = English.phrase("forecast-alike")
	}
	if len(list) < fewest {
		out.Text = English.say("forecast-few", "count", fmt.Sprint(len(list)), "like", like)
		return out
	}
	last := takenAt(list[len(list)-1])
	var x, y []float64 // years after the last, SI
	for _, h := range list {
		x, y = append(x, takenAt(h).Sub(last).Hours()/yearHours), append(y, h.Value)
	}
	season := s.nextSeason()
	ahead := season.Sub(last).Hours() / yearHours
	line, err := num.FitLine(x, y)
	if err != nil || ahead > -x[0] {
		// practice: no further ahead than the readings reach back.
		out.Text = English.say("forecast-far", "count", fmt.Sprint(len(list)), "day", season.Format("2 January 2006"))
		return out
	}
	meter := p.Meter.Instrument(y[len(y)-1])
	mid, scale := line.Predict(ahead, meter)
	q, err := num.StudentQuantile(0.95, line.Points-2)
	if err != nil {
		panic("visit: " + err.Error()) // three points at least
	}
	out.At, out.Expected, out.Low, out.High = season, mid, mid-q*scale, mid+q*scale
	out.Text = English.say("forecast", "day", season.Format("2 January 2006"), "expected", inUnit(mid, p.Dim, p.Unit, p.Meter.Resolution, standardAir),
		"range", English.between(max(out.Low, p.Meter.Low), min(out.High, p.Meter.High), p.Dim, p.Unit, p.Meter.Resolution, standardAir),
		"count", fmt.Sprint(len(list)), "like", like)
	if limit > 0 {
		f.judge(&out, p, limit, scale, line.Points-2)
	}
	return out
}

// judge works out the odds to be beyond the limit.
func (f followed) judge(out *Forecast, p *fieldtest.Point, limit, scale float64, freedom int) {
	under, err := num.StudentBelow((limit-out.Expected)/scale, freedom)
	if err != nil {
		panic("visit: " + err.Error()) // scale is that of a meter at least
	}
	out.Limit, out.Odds = limit, 1-under
	side := "above"
	if f.below {
		out.Odds, side = under, "below"
	}
	shown := inUnit(limit, p.Dim, p.Unit, p.Meter.Resolution, standardAir)
	out.Text += " " + English.say("forecast-odds", "odds", English.inHundred(out.Odds), "side", side, "limit", shown, "whose", f.whose)
	if out.Odds >= recommendFrom {
		out.Recommend = English.say("forecast-recommend-"+f.check, "odds", English.inHundred(out.Odds), "section", English.lower(p.Name.EN), "limit", shown)
	}
}

// nextSeason is the first of May to come, in the zone of the shop.
// practice: cooling is wanted from then on.
func (s *Service) nextSeason() time.Time {
	now := s.now().In(s.zone)
	day := time.Date(now.Year(), time.May, 1, 0, 0, 0, 0, s.zone)
	if !day.After(now) {
		day = day.AddDate(1, 0, 0)
	}
	return day
}
