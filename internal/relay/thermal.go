package relay

import (
	"math"
	"time"

	"rung/internal/quantity"
)

// Curve is how long a fuse or breaker carries a multiple x of its rating:
// for ever up to Holds, else Seconds/(x² − Holds²), so that I²t is constant at
// high currents; and no time at all from Instant upwards.
type Curve struct {
	Holds   quantity.Ratio
	Seconds float64
	Instant quantity.Ratio // 0 means none
}

// Curves of common protection.
var (
	// BladeFuse is the 3 or 5 A fuse of a control board.
	// memory: opening times of ISO 8820-3 blade fuses, windows at 135, 200, 350 and 600 %
	BladeFuse = Curve{Holds: 1.2, Seconds: 1.5}
	// TimeDelayFuse is the cartridge fuse of a disconnect.
	// memory: UL 248 time-delay class, at least 10 s at 500 %, at most an hour at 135 %
	TimeDelayFuse = Curve{Holds: 1.1, Seconds: 240}
	// InverseTimeBreaker is a thermal-magnetic breaker of a panel.
	// memory: UL 489, at most an hour at 135 % and two minutes at 200 %; magnetic part about ten times
	InverseTimeBreaker = Curve{Holds: 1.1, Seconds: 125, Instant: 10}
)

// rate returns the speed of heating at a multiple of the rating: 1 after so
// many seconds means open.
func (c Curve) rate(x float64) float64 {
	h := float64(c.Holds)
	return (x*x - h*h) / c.Seconds
}

// after returns the heat after dt seconds at multiple x.
func (c Curve) after(heat, x, dt float64) float64 {
	return math.Max(0, heat+c.rate(x)*dt)
}

// opens returns the time until a fuse opens at multiple x, never if it holds.
func (c Curve) opens(heat, x float64) time.Duration {
	if c.Instant > 0 && x >= float64(c.Instant) {
		return 10 * time.Millisecond // less than a cycle
	}
	rate := c.rate(x)
	if !(rate > 0) {
		return never
	}
	return seconds((1 - heat) / rate)
}

// Thermal is the heating of an overload. Its heat, 1 at the point of opening,
// approaches (x/Carries)² with the time constant Heats at a multiple x of the
// motor's rated current, and 0 with the much longer Cools once it has opened,
// since the whole motor has to cool.
type Thermal struct {
	Carries quantity.Ratio
	Heats   time.Duration
	Cools   time.Duration
	Closes  quantity.Ratio // heat at which it closes again
}

// MotorOverload is an internal line-break overload: it carries 1.4 times the
// rated amps, opens a compressor at locked-rotor amps in 2 to 20 s, and closes
// when the shell has cooled, half an hour to some hours later.
//
// practice: times; published: opening at a shell of 225 to 250 °F and closing
// at 150 to 160 °F, public refrigeration text: (155−95)/(237−95) = 0.42 in 95 °F.
var MotorOverload = Thermal{Carries: 1.4, Heats: 70 * time.Second, Cools: 50 * time.Minute, Closes: 0.42}

// after returns the heat after dt at multiple x, closed or open.
func (t Thermal) after(heat, x float64, closed bool, dt time.Duration) float64 {
	if !closed {
		return heat * math.Exp(-dt.Seconds()/t.Cools.Seconds())
	}
	end := t.end(x)
	return end + (heat-end)*math.Exp(-dt.Seconds()/t.Heats.Seconds())
}

func (t Thermal) end(x float64) float64 { return x * x / float64(t.Carries*t.Carries) }

// opens returns the time until a closed overload opens at multiple x.
func (t Thermal) opens(heat, x float64) time.Duration {
	end := t.end(x)
	if heat >= 1 {
		return 0
	}
	if !(end > 1) {
		return never
	}
	return seconds(t.Heats.Seconds() * math.Log((end-heat)/(end-1)))
}

// closes returns the time until an open overload closes.
func (t Thermal) closes(heat float64) time.Duration {
	if heat <= float64(t.Closes) {
		return 0
	}
	return seconds(t.Cools.Seconds() * math.Log(heat/float64(t.Closes)))
}

const never = time.Duration(math.MaxInt64)

// seconds returns s rounded up to a microsecond, so that the state is reached
// when the time has come.
func seconds(s float64) time.Duration {
	if !(s < 1e9) {
		return never
	}
	return time.Duration(math.Ceil(s*1e6)) * time.Microsecond
}
