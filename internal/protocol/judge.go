package protocol

import (
	"math"
	"time"

	"rung/internal/quantity"
)

// Readings is what the procedure asks to be measured, in cooling.
type Readings struct {
	Outdoor       quantity.Temperature // air entering the outdoor coil
	ReturnDryBulb quantity.Temperature
	ReturnWetBulb quantity.Temperature
	SupplyDryBulb quantity.Temperature
	SatSuction    quantity.Temperature // dew point at the suction pressure
	SatLiquid     quantity.Temperature // bubble point at the liquid pressure
	SuctionLine   quantity.Temperature // pipe at the service valve
	LiquidLine    quantity.Temperature // pipe at the service valve

	Ran              time.Duration // since the start
	FixedOrifice     bool          // else a TXV
	TargetSubcooling quantity.TempDiff
}

// Bands are the limits of what passes.
type Bands struct {
	Superheat    quantity.TempDiff // fixed orifice: either side of the target
	Subcooling   quantity.TempDiff // TXV: either side of the target
	LeastTXV     quantity.TempDiff // superheat that a TXV must hold
	MostTXV      quantity.TempDiff
	Split        quantity.TempDiff // either side of the target
	LeastOutdoor quantity.Temperature
	MostOutdoor  quantity.Temperature
	LeastRun     time.Duration
	LeastTarget  quantity.TempDiff // target superheat below which there is no valid test
}

// Installer returns the limits for who puts the charge in.
//
// published: California Residential Appendix RA3.2, 2008, pages RA3-9 and RA3-13
// to RA3-16. memory: 115 °F, the end of its table of target superheat.
func Installer() Bands {
	return Bands{
		Superheat: degrees(5), Subcooling: degrees(3), LeastTXV: degrees(4), MostTXV: degrees(25), Split: degrees(3),
		LeastOutdoor: absolute(55), MostOutdoor: absolute(115), LeastRun: 15 * time.Minute, LeastTarget: degrees(5),
	}
}

// Verifier returns the wider limits for who checks it afterwards.
//
// published: the same pages. memory: 4 °F of subcooling.
func Verifier() Bands {
	b := Installer()
	b.Superheat, b.Subcooling, b.LeastTXV, b.MostTXV, b.Split = degrees(6), degrees(4), degrees(3), degrees(26), degrees(4)
	return b
}

func absolute(f float64) quantity.Temperature {
	return quantity.Temperature(fahrenheitZero) + quantity.Temperature(degrees(f))
}

// Level is what the procedure says of airflow or charge.
type Level uint8

// The levels.
const (
	NotJudged Level = iota
	Low
	OK
	High
)

// Reason says why something is not judged, or what besides airflow and charge
// fails.
type Reason uint8

// The reasons.
const (
	NotSettled     Reason = iota + 1 // ran for less than a quarter of an hour
	OutdoorOutside                   // outdoor temperature outside the procedure's range
	ReturnOutside                    // no target split for this return air
	NoTarget                         // target superheat below 5 °F
	AirflowFirst                     // low airflow: mend it, then measure again
	MeteringFails                    // a TXV does not hold its superheat
)

// Verdict is the outcome. Airflow High is a split below its band: the
// procedure passes it and calls capacity probably low.
type Verdict struct {
	Airflow, Charge Level
	Reasons         []Reason
}

// Has reports whether the verdict gives the reason r.
func (v Verdict) Has(r Reason) bool {
	for _, x := range v.Reasons {
		if x == r {
			return true
		}
	}
	return false
}

// Passes reports whether the procedure finds nothing wrong.
func (v Verdict) Passes() bool {
	return v.Airflow != NotJudged && v.Airflow != Low && v.Charge == OK && !v.Has(MeteringFails)
}

// Silent reports whether the procedure has nothing to say.
func (v Verdict) Silent() bool {
	return v.Airflow != Low && (v.Charge == NotJudged || v.Airflow == NotJudged) && !v.Has(MeteringFails)
}

// Judge applies the procedure: airflow by the split, then, if airflow passes,
// charge by superheat (fixed orifice) or subcooling (TXV).
//
// Outside its range it judges nothing and says why. A reading that is not a
// number falls outside every band.
func Judge(r Readings, b Bands) Verdict {
	var v Verdict
	switch {
	case r.Ran < b.LeastRun:
		v.Reasons = append(v.Reasons, NotSettled)
	case !(b.LeastOutdoor <= r.Outdoor && r.Outdoor <= b.MostOutdoor):
		v.Reasons = append(v.Reasons, OutdoorOutside)
	}
	target, ok := TargetSplit(r.ReturnDryBulb, r.ReturnWetBulb)
	if !ok {
		v.Reasons = append(v.Reasons, ReturnOutside)
	}
	if len(v.Reasons) > 0 {
		return v
	}
	// The split rises where the same heat leaves less air.
	v.Airflow = invert(band(r.ReturnDryBulb.Sub(r.SupplyDryBulb)-target, b.Split))
	if v.Airflow == Low {
		v.Reasons = append(v.Reasons, AirflowFirst)
		return v
	}
	superheat := r.SuctionLine.Sub(r.SatSuction)
	if r.FixedOrifice {
		want := TargetSuperheat(r.ReturnWetBulb, r.Outdoor)
		if want < b.LeastTarget {
			v.Reasons = append(v.Reasons, NoTarget)
			return v
		}
		v.Charge = invert(band(superheat-want, b.Superheat))
		return v
	}
	v.Charge = band(r.SatLiquid.Sub(r.LiquidLine)-r.TargetSubcooling, b.Subcooling)
	if !(b.LeastTXV <= superheat && superheat <= b.MostTXV) {
		v.Reasons = append(v.Reasons, MeteringFails)
	}
	return v
}

// band says where a departure stands to a band either side of zero.
func band(d, width quantity.TempDiff) Level {
	switch {
	case d < -width:
		return Low
	case d > width:
		return High
	case math.IsNaN(float64(d)):
		return NotJudged
	}
	return OK
}

// invert exchanges low and high.
func invert(l Level) Level {
	switch l {
	case Low:
		return High
	case High:
		return Low
	}
	return l
}

// TargetSuperheat is (3 wet bulb - 80 - outdoor)/2 in °F.
//
// practice: the standing rule of the trade; published: within 3 °F of the
// procedure's own table where that could be compared.
func TargetSuperheat(wetBulb, outdoor quantity.Temperature) quantity.TempDiff {
	return degrees((3*fahrenheit(wetBulb) - 80 - fahrenheit(outdoor)) / 2)
}
