package diagnosis

import "rung/internal/quantity"

// Settings are the numbers of the method.
type Settings struct {
	// Epsilon is the share of wrong meter readings.
	Epsilon float64
	// EpsilonSensed, EpsilonApprentice: the same for what is seen or heard, and
	// for what an apprentice sees or hears.
	EpsilonSensed, EpsilonApprentice float64
	// KernelScale widens the kernel against errors of the model.
	KernelScale float64
	// EffectSpread is how far the effect of a fault on a point is from that of the
	// model, as a share of the effect (sd); EffectMissing the share of points at which
	// an effect of the model does not come about. WiringSpread and WiringMissing are
	// those of volts, ohms and microfarads.
	EffectSpread, EffectMissing, WiringSpread, WiringMissing float64
	// Temper is the power to which likelihoods are raised, in (0, 1]: below 1 each
	// reading counts for less, against errors of the model that readings share.
	Temper float64
	// UnsettledScale widens it further for an unsettled reading of a slow point.
	UnsettledScale float64
	// RareParticles are drawn for every hypothesis, FewParticles for those whose
	// prior is not below RareBelow. Those above ManyAbove get more, up to
	// ManyParticles, until the weight of EnoughParticles bears their likelihood.
	RareParticles, FewParticles, ManyParticles int
	RareBelow, ManyAbove, EnoughParticles      float64
	// Certain is the probability that a repair is right to begin with at which checking ends.
	Certain float64
	// CostStop is the least probability of the right repair at which it may be
	// tried because that is cheaper than more checks; LeastCertain the least where
	// no check is left that tells much.
	CostStop, LeastCertain float64
	// CertainInvasive is the least probability of the class for an invasive repair.
	CertainInvasive float64
	// Margin is the gain in minutes below which one more check is not worth it.
	Margin float64
	// LeastGain is the information in nats below which a check is not proposed.
	LeastGain float64
	// MostChecks ends the proposing of checks.
	MostChecks int
	// EscalateMinutes is the cost of handing over; UnlistedMinutes of finding an unlisted cause by open search.
	EscalateMinutes float64
	// FalsePass is the chance that the proof of a repair passes though the cause
	// remains, CallbackMinutes its cost. CloseMinutes is the cost of closing a visit without a fault found.
	FalsePass, CallbackMinutes, CloseMinutes float64
	// GateMinutes is what opening the charge gate costs on average, where it is shut.
	GateMinutes float64
	// LiveMinutes is the price of reading in an open live panel, beside its time.
	LiveMinutes float64
	// ProvenAt is the probability at which a repair counts as proven.
	ProvenAt float64
	// ShowAbove is the least probability of a cause listed in Advice.
	ShowAbove float64
	// OutdoorLimit is the outdoor temperature below which the charge is not
	// judged; never less than 55 °F.
	OutdoorLimit quantity.Temperature
}

// lowestOutdoorLimit is 55 °F in kelvin.
// practice: the lowest outdoor temperature at which residential charge protocols allow superheat and subcooling methods.
const lowestOutdoorLimit quantity.Temperature = 285.92777777777775

// DefaultSettings returns the settings in use.
//
// Where no other reason is given: practice: chosen on simulated calls, where the
// results were flat around them; untuned on closed calls.
func DefaultSettings() Settings {
	return Settings{
		// practice: 2 to 5 % wrong readings: chosen on trials on systems set apart for tuning.
		Epsilon:           0.05,
		EpsilonSensed:     0.07,
		EpsilonApprentice: 0.11,
		KernelScale:       2,
		EffectSpread:      0.3, // practice: the effects of a model of faults, known to a third
		EffectMissing:     0.1, // practice: one in ten
		WiringSpread:      0.05,
		WiringMissing:     0.03, // practice: a lead on the wrong screw, a drawing that is not the unit's
		Temper:            1,
		UnsettledScale:    3,
		RareParticles:     12,
		FewParticles:      24,
		ManyParticles:     96,
		RareBelow:         0.005,
		ManyAbove:         0.01,
		EnoughParticles:   10,
		Certain:           0.9,
		CostStop:          0.8, // practice: stopping lower cost more where the model errs
		LeastCertain:      0.3, // practice: a guess less likely than one in three is no finding
		CertainInvasive:   0.8,
		Margin:            0.5,   // min
		LeastGain:         0.001, // nat
		MostChecks:        40,
		EscalateMinutes:   120, // practice: a second visit by another mechanic
		FalsePass:         0.02,
		CallbackMinutes:   150,
		CloseMinutes:      10,
		GateMinutes:       20,   // practice: filter, coils, static pressure, settling
		LiveMinutes:       3,    // practice: what is as well read with the power off is read so
		ProvenAt:          0.92, // practice: 0.95, less mimicShare: no reading shows a cause outside the list gone
		ShowAbove:         0.001,
		OutdoorLimit:      291.4833333333333, // K, 65 °F; practice: most charge charts want 60 to 70 °F
	}
}
