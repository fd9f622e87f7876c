package plant

import (
	"rung/internal/cycle"
	"rung/internal/quantity"
)

// What the eye takes for clean, dirty and blocked.
// practice: judgement, so that a dirty look goes with an effect that a reading
// can just show, a blocked one with a complaint.
const (
	dirtyFilter, blockedFilter   = 3.2, 8.0  // of clean drop; one some months old has up to three times
	dirtyCoil, blockedCoil       = 1.6, 4.0  // of clean drop
	dirtyFins, blockedFins       = 0.25, 1.0 // added air-side resistance to heat
	dirtyOutdoor, blockedOutdoor = 0.82, 0.5 // of rated airflow
	dirtyWheel, blockedWheel     = 0.1, 0.35 // loss of what it moves
	iceSeen                      = 0.25      // of the face
	warmWatts                    = 4.0       // W in one joint leave a mark
	brokenJoint                  = 1e3       // ohm
	freezing                     = 273.15    // K
)

// look fills in what can be seen without an instrument.
func (s *Solver) look() {
	st, v := &s.state, &s.ps.v
	l := &st.Looks
	l.Filter = grade(v[pFilter], dirtyFilter, blockedFilter)
	l.IndoorCoil = max(grade(v[pCoilAir], dirtyCoil, blockedCoil), grade(v[pCoilFouling], dirtyFins, blockedFins))
	if v[pIce] >= iceSeen {
		l.IndoorCoil = Iced
	}
	l.OutdoorCoil = max(grade(-v[pOutdoorAirflow], -dirtyOutdoor, -blockedOutdoor), grade(v[pOutdoorFouling], dirtyFins, blockedFins))
	l.BlowerWheel = grade(v[pWheelFouling], dirtyWheel, blockedWheel)
	l.PanFull = s.panFull()
	if l.DisplayLit && !s.ps.is(pStatSupply, 1) {
		l.DisplayLit = s.volts(st.net(Settled, indoorSide), StatR, BoardC) >= statAlive
	}
	l.DisconnectPulled = !s.ps.sound(pDisconnect)
	l.BreakerTripped = s.seq.Blown(seatBreaker)
	l.FanBackward = !s.ps.sound(pFanRotation) && st.Speeds.OutdoorFan > 0
	l.BurntConductor = s.burnt()
	l.SuctionLineIce = v[pIce] >= iceSeen || st.Pumping() && !s.heats() &&
		(st.Cycle.SuctionLineTemp < freezing || st.Cycle.Outcome == cycle.Icing && st.Cycle.CoilOutletTemp < freezing)
	if st.Demand != Off && !st.Calling {
		if !l.DisplayLit {
			s.note(0, DisplayDead, "thermostat/display", quantity.DimNone, 0)
		}
		s.note(0, StatSilent, "", quantity.DimNone, 0)
	}
}

func grade(x, dirty, blocked float64) Look {
	switch {
	case x >= blocked:
		return Blocked
	case x >= dirty:
		return Dirty
	}
	return Clean
}

// joints are the places of the line-voltage side that can be seen to have been
// hot.
var joints = [...]string{"disconnect/leg-1", "disconnect/leg-2", "contactor/pole-1", "contactor/pole-2",
	"compressor/common-terminal", "compressor/run-terminal", "compressor/start-terminal", "run-capacitor/common", "run-capacitor/fan-lead"}

// burnt says whether some joint has been hot: by its loss while running, or
// because it has burnt off.
func (s *Solver) burnt() bool {
	n := s.nets[Running][outdoorSide]
	for _, b := range s.p.joints {
		r := s.ps.v[b.param]
		if b.param == pStartTermOhms {
			r += s.ps.v[pHermLeadOhms]
		}
		if r >= brokenJoint {
			return true
		}
		if r < 0.02 { // ohm; 4 W there would take more than 14 A steadily, which no part of these units carries at 20 milliohm unnoticed
			continue
		}
		i := n.Current(b.place.branch)
		if (real(i)*real(i)+imag(i)*imag(i))*r >= warmWatts {
			return true
		}
	}
	return false
}
