package moistair

import "math"

// Plain numbers for models of a wet coil. Saturation is over liquid water at
// every temperature: the switch to ice would put a kink in the slope of
// enthalpy at 0 °C, and a coil below it is not in a steady state anyway.
// Temperatures K, pressures Pa, enthalpies J per kg of dry air. NaN outside
// 223.15 to 343.15 K and 50 to 150 kPa. Nothing is allocated.

const (
	coilMinT  = 223.15 // K
	coilMaxT  = 343.15 // K
	coilNodes = 121    // one to a kelvin
	coilMinP  = 50e3   // Pa; about 5600 m, and well above saturation at coilMaxT
)

// coilSat holds the saturation pressure over water and its slope at every
// kelvin; a cubic between the nodes is right to 3e-7 of the pressure.
var coilSat = func() (nodes [coilNodes][2]float64) {
	for i := range nodes {
		nodes[i][0], nodes[i][1] = overWater(coilMinT + float64(i))
	}
	return nodes
}()

// satWater returns the saturation pressure in Pa and its slope in Pa/K, from
// the table; T must be in range.
func satWater(T float64) (p, slope float64) {
	x := T - coilMinT
	i := min(int(x), coilNodes-2)
	t := x - float64(i)
	a, b := &coilSat[i], &coilSat[i+1]
	rise := b[0] - a[0]
	c := 3*rise - 2*a[1] - b[1]
	d := a[1] + b[1] - 2*rise
	return a[0] + t*(a[1]+t*(c+t*d)), a[1] + t*(2*c+t*3*d)
}

// SatEnthalpy returns the enthalpy of saturated air at T and p.
func SatEnthalpy(T, p float64) float64 {
	h, _ := satEnthalpy(T, p)
	return h
}

// SatEnthalpySlope returns ∂h/∂T of SatEnthalpy, J/(kg·K).
func SatEnthalpySlope(T, p float64) float64 {
	_, slope := satEnthalpy(T, p)
	return slope
}

// SatHumidityRatio returns the humidity ratio of saturated air at T and p.
func SatHumidityRatio(T, p float64) float64 {
	W, _ := satRatio(T, p)
	return W
}

// Enthalpy returns the enthalpy of air at the dry bulb T with the humidity
// ratio W, at any temperature.
func Enthalpy(T, W float64) float64 { return enthalpy(T, W) }

func satRatio(T, p float64) (W, slope float64) {
	if !(coilMinT <= T && T <= coilMaxT && coilMinP <= p && p <= maxPressure) {
		return math.NaN(), math.NaN()
	}
	ps, dps := satWater(T)
	d := massRatio / (p - ps)
	return ps * d, p * dps * d * d / massRatio
}

func satEnthalpy(T, p float64) (h, slope float64) {
	W, dW := satRatio(T, p)
	t := T - iceWater
	latent := evaporation + vapourHeat*t
	return airHeat*t + W*latent, airHeat + W*vapourHeat + dW*latent
}

// SatTemp returns the temperature at which SatEnthalpy at p is h.
//
// Newton's method from a table for sea level; the error left is below 1e-8 K.
// Enthalpy bends upward with temperature, so that only the first step can pass
// the answer, and only upward.
func SatTemp(h, p float64) float64 {
	const (
		maxIter = 30
		near    = 1e-5 // K; the step after it is of the order of its square
	)
	T := guessTemp(h)
	// The share of the vapour at the same temperature goes about with 1/p.
	dry := airHeat * (T - iceWater)
	T = guessTemp(dry + (h-dry)*p/seaLevel)
	for range maxIter {
		f, slope := satEnthalpy(T, p)
		step := (h - f) / slope
		T = max(coilMinT, min(T+step, coilMaxT))
		if math.Abs(step) < near {
			return T
		}
	}
	return math.NaN() // held at an end of the range
}

const (
	guessCells = 64
	guessBend  = 60e3     // J/kg; enthalpy at which the even grid of guesses is half used
	seaLevel   = 101325.0 // Pa
)

// guesses holds the temperature of saturated air at sea level, even in
// x = y/(y + guessBend) with y the enthalpy above that at coilMinT.
var guesses = func() (T [guessCells + 1]float64) {
	t := coilMinT
	for i := range T {
		x := guessPlace(SatEnthalpy(coilMaxT, seaLevel)) * float64(i) / guessCells
		h := guessLowest + guessBend*x/(1-x)
		for range 20 {
			f, slope := satEnthalpy(t, seaLevel)
			t = max(coilMinT, min(t+(h-f)/slope, coilMaxT))
		}
		T[i] = t
	}
	return T
}()

var (
	guessLowest = SatEnthalpy(coilMinT, seaLevel)
	guessScale  = guessCells / guessPlace(SatEnthalpy(coilMaxT, seaLevel))
)

func guessPlace(h float64) float64 {
	y := h - guessLowest
	return y / (y + guessBend)
}

// guessTemp returns about the temperature of saturated air of the enthalpy h,
// as if at sea level, held to the ends of the range.
func guessTemp(h float64) float64 {
	x := max(0, min(guessPlace(h)*guessScale, guessCells))
	if math.IsNaN(x) {
		return x
	}
	i := min(int(x), guessCells-1)
	t := x - float64(i)
	return guesses[i]*(1-t) + guesses[i+1]*t
}
