package diagnosis

import (
	"math"

	"rung/internal/fieldtest"
	"rung/internal/quantity"
)

// The points by which the charge is spoken about.
var (
	suctionPressure  = Ref{"gauge-pressures", "suction", Cool}
	liquidPressure   = Ref{"gauge-pressures", "liquid", Cool}
	suctionStanding  = Ref{"gauge-pressures", "suction", Off}
	liquidStanding   = Ref{"gauge-pressures", "liquid", Off}
	suctionPipe      = Ref{"sh-sc", "suction-line", Cool}
	liquidPipe       = Ref{"sh-sc", "liquid-line", Cool}
	filterSeen       = Ref{"filter-look", "filter", Off}
	indoorCoilSeen   = Ref{"coil-look", "coil", Off}
	outdoorCoilSeen  = Ref{"outdoor-coil-look", "coil", Off}
	airflowMeasured  = Ref{"airflow-traverse", "airflow", Cool}
	staticMeasured   = Ref{"esp-total", "static", Cool}
	airflowPointRefs = []Ref{airflowMeasured, staticMeasured}
)

// Advise is Engine.Advise with the charge gate filled in from what is known of
// the plate, the surroundings and the readings.
func (s *System) Advise(c Case) (Advice, error) {
	c.Charge = s.ChargeFacts(c)
	a, err := s.Engine.Advise(c)
	if err == nil && s.wantsDoubles(c, a) {
		a, err = s.adviseDoubles(c, a, (*Engine).Advise)
	}
	if err != nil {
		return a, err
	}
	for i := range a.Causes {
		s.amounts(&a.Causes[i])
	}
	return a, s.airflow(c, &a)
}

// Decide is Engine.Decide with the charge gate filled in as by Advise.
func (s *System) Decide(c Case) (Advice, error) {
	c.Charge = s.ChargeFacts(c)
	a, err := s.Engine.Decide(c)
	if err != nil || !s.wantsDoubles(c, a) {
		return a, err
	}
	return s.adviseDoubles(c, a, (*Engine).Decide)
}

// ChargeFacts adds to c.Charge what the plate, the surroundings and the
// readings since the last repair establish.
func (s *System) ChargeFacts(c Case) ChargeFacts {
	f, sit := c.Charge, &s.w.sit
	assumed := map[string]bool{}
	for _, a := range sit.Plant.Assumptions() {
		assumed[a.Field] = true
	}
	f.RefrigerantKnown = f.RefrigerantKnown || !assumed["refrigerant"]
	f.MeteringKnown = f.MeteringKnown || !assumed["metering"]
	f.FixedOrifice = sit.Plant.Has("fixed-orifice")
	f.ReturnWetBulbKnown = f.ReturnWetBulbKnown || sit.WetBulbKnown
	if f.Outdoor == 0 && sit.OutdoorKnown {
		f.Outdoor = sit.At.Outdoor
	}
	now := readingsNow(c)
	f.AirflowKnown = f.AirflowKnown || s.airflowKnown(now)
	filter, indoor, outdoor := s.clean(now, filterSeen), s.clean(now, indoorCoilSeen), s.clean(now, outdoorCoilSeen)
	// A dirty indoor coil shows in the airflow, too.
	f.FilterAndCoilsClean = f.FilterAndCoilsClean || filter && outdoor && (indoor || f.AirflowKnown)
	pressures, running := bothPressures(now)
	f.CompressorPumping = f.CompressorPumping || running && !pressures.equal()
	f.NoLiquid = f.NoLiquid || s.w.noLiquid(now)
	f.Settled = f.Settled || running && pressures.settled
	return f
}

// readingsNow returns the standing readings of the current epoch by ref.
func readingsNow(c Case) map[Ref]Reading {
	now := map[Ref]Reading{}
	for _, r := range c.Readings {
		old, twice := now[r.Ref]
		if r.Drop || r.Epoch != c.Epoch() || twice && before(&r, &old) {
			continue
		}
		now[r.Ref] = r
	}
	return now
}

// clean says whether a thing was seen clean.
func (s *System) clean(now map[Ref]Reading, ref Ref) bool {
	r, seen := now[ref]
	p, known := s.pointAt[ref]
	return seen && known && r.Kind == IsWord && r.Word < len(s.points[p].Words) && s.points[p].Words[r.Word] == "clean"
}

// airflowKnown says whether a measured airflow or static pressure is such as
// this system shows when sound.
func (s *System) airflowKnown(now map[Ref]Reading) bool {
	for _, ref := range airflowPointRefs {
		r, read := now[ref]
		if !read || r.Kind != IsValue {
			continue
		}
		healthy, err := s.Card(Case{}, ref)
		if err != nil || healthy[0].ValueShare == 0 {
			continue
		}
		if r.Value >= healthy[0].Range.Low && r.Value <= healthy[0].Range.High {
			return true
		}
	}
	return false
}

// pressures are the two pressures of a running system, Pa absolute.
type pressures struct {
	suction, liquid float64
	settled         bool
}

// bothPressures returns the pressures under a cooling call, if both were read.
func bothPressures(now map[Ref]Reading) (pressures, bool) {
	a, one := now[suctionPressure]
	b, two := now[liquidPressure]
	if !one || !two || a.Kind != IsValue || b.Kind != IsValue {
		return pressures{}, false
	}
	return pressures{a.Value, b.Value, !a.Unsettled && !b.Unsettled}, true
}

// equal says whether the pressures have not parted.
// practice: a compressor that pumps at all parts them by far more than a
// tenth; two gauges differ by a few percent.
func (p pressures) equal() bool { return p.liquid < 1.1*p.suction }

// Opens returns what to read for the charge gate.
func (w *plantWorld) Opens(r ChargeReason, readings []Reading) []Ref {
	read := map[Ref]bool{}
	for _, x := range readings {
		read[x.Ref] = true
	}
	var want []Ref
	switch r {
	case ChargeNotPumping:
		want = []Ref{suctionPressure, liquidPressure}
	case ChargeNotSettled: // to be read again, if they were read too early
		if read[suctionPressure] && read[liquidPressure] {
			return []Ref{suctionPressure, liquidPressure}
		}
	case ChargeDirty: // what was seen dirty wants cleaning, not another look
		want = []Ref{filterSeen, outdoorCoilSeen}
		if read[staticMeasured] || read[airflowMeasured] {
			want = append(want, indoorCoilSeen)
		}
	case ChargeAirflowUnknown: // a static pressure that fits no sound system asks for the airflow itself
		want = []Ref{staticMeasured}
		if read[staticMeasured] {
			want = []Ref{airflowMeasured}
		}
	}
	var out []Ref
	for _, ref := range want {
		if !read[ref] {
			out = append(out, ref)
		}
	}
	return out
}

// Mutes holds the running pressures silent on the charge when they are equal: then
// the compressor does not pump, and pressures at rest show the temperature of
// the liquid, never how much there is. Below the saturation pressure of the
// colder air no liquid is left; that does speak.
func (w *plantWorld) Mutes(readings []Reading) []Mute {
	var out []Mute
	for epoch := range lastEpoch(readings) + 1 {
		now, index := map[Ref]Reading{}, map[Ref]int{}
		for i, r := range readings {
			if r.Epoch == epoch {
				now[r.Ref], index[r.Ref] = r, i
			}
		}
		p, both := bothPressures(now)
		if !both || !p.equal() || p.suction < liquidLeft*w.restPressure() {
			continue
		}
		m := Mute{Warning: Warning{Kind: WarnEqualPressures, Reading: now[suctionPressure].ID, Ref: suctionPressure, Value: p.suction}}
		for _, ref := range []Ref{suctionPressure, liquidPressure, suctionPipe, liquidPipe,
			suctionStanding, liquidStanding} {
			if i, read := index[ref]; read {
				m.Readings = append(m.Readings, i)
			}
		}
		for _, h := range w.hyps {
			if h.Charge {
				m.Hypotheses = append(m.Hypotheses, h.ID)
			}
		}
		out = append(out, m)
	}
	return out
}

// liquidLeft is the share of the saturation pressure of the colder air below
// which no liquid can be left.
// practice: a tenth covers gauges and air that is colder than thought.
const liquidLeft = 0.9

// noLiquid says whether both pressures at rest are below what liquid would hold.
func (w *plantWorld) noLiquid(now map[Ref]Reading) bool {
	for _, pair := range [][2]Ref{{suctionStanding, liquidStanding}, {suctionPressure, liquidPressure}} {
		a, one := now[pair[0]]
		b, two := now[pair[1]]
		p := pressures{suction: a.Value, liquid: b.Value}
		if one && two && a.Kind == IsValue && b.Kind == IsValue && p.equal() && p.liquid < liquidLeft*w.restPressure() {
			return true
		}
	}
	return false
}

func lastEpoch(readings []Reading) int {
	last := 0
	for _, r := range readings {
		last = max(last, r.Epoch)
	}
	return last
}

// restPressure returns the saturation pressure at the colder of the two airs,
// Pa absolute; 0 outside the range of the refrigerant.
func (w *plantWorld) restPressure() float64 {
	cold := math.Min(w.sit.At.Outdoor.Kelvin(), w.sit.At.ReturnDryBulb.Kelvin())
	sat, err := w.sit.Plant.Fluid().SaturationAtTemp(quantity.Temperature(cold))
	if err != nil {
		return 0
	}
	return sat.DewPressure.Pascal()
}

// Slack of the physical laws, beyond what gauges and clamps err by.
// practice: clamps read a few kelvin off where they sit badly.
const (
	pressureSlack = 1.05 // liquid below suction by more than 5 %
	pipeSlack     = 4    // K across the saturation line
)

// Contradictions returns the laws that the readings of an epoch break
// together: the liquid pressure is not below the suction pressure, suction gas not
// colder than its saturation, liquid not hotter than its own.
func (w *plantWorld) Contradictions(readings []Reading) []Warning {
	var out []Warning
	for epoch := range lastEpoch(readings) + 1 {
		now := map[Ref]Reading{}
		for _, r := range readings {
			if r.Epoch == epoch && r.Kind == IsValue {
				now[r.Ref] = r
			}
		}
		p, both := bothPressures(now)
		if !both {
			continue
		}
		if p.suction > pressureSlack*p.liquid {
			out = append(out, Warning{Kind: WarnContradiction, Reading: now[liquidPressure].ID, Ref: liquidPressure,
				Detail: "liquid-below-suction", Value: p.suction / p.liquid})
		}
		out = append(out, w.pipeContradictions(now, p)...)
	}
	return out
}

func (w *plantWorld) pipeContradictions(now map[Ref]Reading, p pressures) []Warning {
	var out []Warning
	fluid := w.sit.Plant.Fluid()
	if r, read := now[suctionPipe]; read {
		sat, err := fluid.SaturationAtPressure(quantity.Pressure(p.suction))
		if short := sat.DewTemp.Kelvin() - r.Value; err == nil && short > pipeSlack {
			out = append(out, Warning{Kind: WarnContradiction, Reading: r.ID, Ref: r.Ref, Detail: "suction-pipe-below-saturation", Value: short})
		}
	}
	if r, read := now[liquidPipe]; read {
		sat, err := fluid.SaturationAtPressure(quantity.Pressure(p.liquid))
		if over := r.Value - sat.BubbleTemp.Kelvin(); err == nil && over > pipeSlack {
			out = append(out, Warning{Kind: WarnContradiction, Reading: r.ID, Ref: r.Ref, Detail: "liquid-pipe-above-saturation", Value: over})
		}
	}
	return out
}

// RefOf translates a ref of the catalogue of checks.
func RefOf(r fieldtest.Ref) Ref { return Ref{r.Check, r.Point, Demand(r.Demand.String())} }
