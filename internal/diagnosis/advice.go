package diagnosis

import "rung/internal/quantity"

// Advice is the answer to a Case.
type Advice struct {
	// Causes lists every hypothesis of at least Settings.ShowAbove, the likeliest
	// first, ties by id. The cause without faults means: nothing was wrong at the start.
	Causes []Cause
	// Unlisted lists the subsystems with the probability that something outside
	// the list is wrong there, the likeliest first.
	Unlisted []Unlisted
	// UnlistedTotal is the sum over all subsystems.
	UnlistedTotal float64
	// Cured is the probability that nothing is wrong now, after the repairs done.
	// Before any repair it equals the probability of the cause without faults.
	Cured float64

	Verdict Verdict
	// Repair is the repair worth doing first by expected cost; with Verdict
	// VerdictRepair it is proposed now. Nil when no repair is left or allowed.
	Repair *RepairAdvice
	// Next lists up to three checks or re-measurements, the best first. It may be
	// filled when the verdict is repair, too: the mechanic may choose either.
	Next []Suggestion
	// Stop holds the costs that were compared for the verdict.
	Stop StopCosts

	// Latest tells what the reading of the highest Seq did. Nil without readings.
	Latest *Effect
	// History holds the weight of every counted reading for the leading cause
	// against the runner-up, in the order of Seq. The decibans add up to the
	// change of the log odds of the two since the start.
	History []Weight
	// For lists up to three readings that speak most for the leader against its
	// strongest rival, the strongest first; Against the one that speaks most against it, if any.
	For     []Weight
	Against *Weight

	Warnings []Warning
	Charge   ChargeGate

	singles []int // the likeliest hypotheses of one fault, shown or not, see adviseDoubles
}

// Verdict is what to do now.
type Verdict string

// The verdicts.
const (
	VerdictRepair   Verdict = "repair"
	VerdictCheck    Verdict = "check"
	VerdictEscalate Verdict = "escalate"
	// VerdictCured: readings after the last repair show that nothing is wrong now.
	VerdictCured Verdict = "cured"
	// VerdictNothingFound: no repair was done, and nothing is found wrong.
	VerdictNothingFound Verdict = "nothing-found"
)

// UnlistedID returns the id under which an unlisted cause in a subsystem is
// named among Standings.
func UnlistedID(subsystem string) string { return "unlisted-" + subsystem }

// Cause is a hypothesis with its standing.
type Cause struct {
	ID string
	// Faults are the ids of the faults present under it: none, one, or a listed pair.
	Faults []string
	// Repairs are the ids of the repairs that cure it: its repair class.
	Repairs     []string
	Subsystem   string
	Prior       float64
	Probability float64
	// Severity is the 5, 50 and 95 % point of the severity, a quantile between 0
	// and 1 of the fault's own distribution. Nil if the cause has none.
	Severity *Range
	// Amounts are what it comes to, of a cause of one fault of a real system that has a degree.
	Amounts []Amount
	// Misfit is how badly the readings fit even if this is the cause, in
	// standard deviations: above 2 worth a note, above 3 a warning.
	Misfit float64
}

// Range is the 5, 50 and 95 % point of a quantity.
type Range struct{ Low, Mid, High float64 }

// Unlisted is the probability of an unlisted cause in a subsystem.
type Unlisted struct {
	Subsystem   string
	Probability float64
}

// SuggestionKind tells new checks from repeats.
type SuggestionKind string

// The kinds of suggestion.
const (
	Measure   SuggestionKind = "measure"
	Remeasure SuggestionKind = "re-measure"
	// ForCharge: a charge repair leads, and this is read to open the charge gate.
	ForCharge SuggestionKind = "for-charge"
	// Confirm: an invasive repair leads on too little, and this could refute it.
	Confirm SuggestionKind = "confirm"
)

// Suggestion is a check proposed.
type Suggestion struct {
	Kind   SuggestionKind
	Check  string
	Demand Demand
	// Refs are the points to read in one go.
	Refs []Ref
	// Setup lists what has to be switched first, in order, with its minutes.
	// A step of its own: isolating and proving dead is never folded into the check.
	Setup []SetupStep
	// CheckMinutes is the time of the reading itself, SetupMinutes that of Setup.
	CheckMinutes, SetupMinutes float64
	// Bits is the expected information about the repair; BitsPerMinute counts the setting up too.
	Bits, BitsPerMinute float64
	Safety              SafetyClass
	// With lists further checks worth doing behind the same setup, if that was
	// what made this one worth its setting up.
	With []Ref
	// Outcomes tells for the point that says most what each outcome would leave.
	Outcomes []Branch
	// Separates names the two causes that it tells apart best, empty if unclear.
	Separates [2]string
	// Reading is the id of the reading to repeat, for Kind Remeasure.
	Reading string
	Seq     int
	// Opens is the reason of the shut gate that it is read for, for Kind ForCharge.
	Opens ChargeReason
}

// SetupStep is one switching of a setup state.
type SetupStep struct {
	State   string
	On      bool
	Minutes float64
}

// Branch is one possible outcome of a suggestion's leading point.
type Branch struct {
	Ref Ref
	// The outcome: a word, an interval of values, or not readable.
	Kind      OutcomeKind
	Word      int
	Low, High float64 // SI; −Inf and +Inf at the ends
	// Probability of this outcome.
	Probability float64
	// Remain lists the causes that would stand above 5 %, the likeliest first, at most four.
	Remain []Standing
}

// Standing is a cause with a probability.
type Standing struct {
	ID          string
	Probability float64
}

// RepairAdvice is a repair with its standing.
type RepairAdvice struct {
	ID string
	// Then lists further repairs of the same class, for a cause of two faults.
	Then []string
	// Causes are the hypotheses it would cure, likeliest first.
	Causes []string
	// Cure is the probability that nothing would be wrong after it.
	Cure float64
	// Minutes is the time of the repair with its setting up.
	Minutes float64
	Setup   []SetupStep
	Safety  SafetyClass
	// Held lists why it is not proposed although it leads; empty if it may be done.
	Held []HoldReason
}

// HoldReason says why a repair is held back.
type HoldReason string

// The reasons for holding a repair back.
const (
	HeldCharge      HoldReason = "charge-not-judged"        // the charge gate is shut
	HeldUncertain   HoldReason = "invasive-below-certainty" // invasive, and the class is below 80 %
	HeldOneReading  HoldReason = "invasive-on-one-reading"  // invasive, and fewer than two readings speak for it
	HeldUnrefutable HoldReason = "invasive-never-at-risk"   // invasive, and no reading could have refuted it
	HeldHangs       HoldReason = "hangs-on-one-reading"     // without one reading it would not be likely: that is read again first
	HeldPerson      HoldReason = "person-may-not"           // the person may not do it
	HeldHazard      HoldReason = "hazard"                   // a hazard bars it
)

// StopCosts are the expected costs, in minutes, compared for the verdict.
type StopCosts struct {
	// RepairNow is the expected cost of repairing by probability over cost
	// from here, handing over where that is cheaper.
	RepairNow float64
	// OneMore is the least expected cost of one check and then repairing.
	OneMore float64
	// GoOn estimates the cost of going on checking as proposed.
	GoOn float64
	// Escalate is the cost of handing over now; the repair remains to be done.
	Escalate float64
	// Certainty is the probability that the leading repair is right to begin with,
	// another needed after it or not; Raised is what it would be on average after the best check.
	Certainty, Raised float64
	// Exact says that GoOn comes from the exact solution of the compiled problem.
	Exact bool
}

// Effect tells what one reading did.
type Effect struct {
	Reading  string // its id
	Ref      Ref
	Outcome  Outcome
	Expected []Expectation
	// RuledOut are the causes that lost at least 10 decibans to the leader by
	// this reading and now stand below 1 %, the formerly likeliest first.
	RuledOut []Shift
	// Likelier are the two causes that gained most, Open the causes above 5 %.
	Likelier []Shift
	Open     []Standing
}

// Shift is how one reading moved one cause.
type Shift struct {
	ID            string
	Before, After float64 // probability
	// Decibans is the weight of evidence for it against the leader (RuledOut) or
	// against all else (Likelier).
	Decibans float64
}

// Expectation is what a cause predicts for a ref, given all other readings.
type Expectation struct {
	Cause string
	// The share of the prediction that is a number, and its 5, 50 and 95 % points including the meter.
	ValueShare float64
	Range      Range
	// Words holds the probability of each word, for a point with words.
	Words []float64
	// NotReadableShare is the probability that the point shows nothing.
	NotReadableShare float64
}

// Weight is the weight of one reading for a cause against a rival.
type Weight struct {
	Reading      string
	Ref          Ref
	Outcome      Outcome
	Cause, Rival string
	Decibans     float64
	Strength     Strength
}

// Strength is a weight of evidence in words.
type Strength string

// The strengths, by the size of the weight in decibans: practice: own scale.
const (
	Hardly     Strength = "hardly"     // under 3
	Somewhat   Strength = "somewhat"   // 3 to 7
	Clearly    Strength = "clearly"    // 7 to 13
	Strongly   Strength = "strongly"   // 13 to 20
	Decisively Strength = "decisively" // over 20
)

// StrengthOf returns the strength of a weight of evidence of either sign.
func StrengthOf(decibans float64) Strength {
	if decibans < 0 {
		decibans = -decibans
	}
	switch {
	case decibans < 3:
		return Hardly
	case decibans < 7:
		return Somewhat
	case decibans < 13:
		return Clearly
	case decibans <= 20:
		return Strongly
	}
	return Decisively
}

// WarningKind is the kind of a warning.
type WarningKind string

// The kinds of warning.
const (
	// WarnMisfit: no listed cause explains these readings well. Value: misfit.
	WarnMisfit WarningKind = "misfit"
	// WarnWrongReading: the reading does not agree with the rest; check lead, mode,
	// terminal, and measure again. Value: probability that it is wrong.
	WarnWrongReading WarningKind = "wrong-reading"
	// WarnHangsOnOne: without this reading another cause would lead.
	// Value: probability of the leader without it; Cause: who would lead.
	WarnHangsOnOne WarningKind = "hangs-on-one-reading"
	// WarnSurprise: under 1 % likely given all other readings. Value: tail probability.
	WarnSurprise WarningKind = "surprising-reading"
	// WarnContradiction: readings that break a law of physics together. Detail: which.
	WarnContradiction WarningKind = "contradiction"
	// WarnUnlisted: an unlisted cause is likelier than any listed one. Cause: the subsystem.
	WarnUnlisted WarningKind = "unlisted-likely"
	// WarnTwoFaults: no single listed cause explains the readings, so two faults at once that
	// nobody listed were considered, too. Value: probability of any two of these.
	WarnTwoFaults WarningKind = "two-faults-considered"
	// WarnInduced: what is wrong now may have been left behind by a repair. Cause: the fault,
	// Value: its probability.
	WarnInduced WarningKind = "left-by-a-repair"
	// WarnHazard: a hazard stops or limits the work. Detail: the hazard.
	WarnHazard WarningKind = "hazard"
	// WarnManyReadings: more checks done than help; hand over or think again. Value: their number.
	WarnManyReadings WarningKind = "many-readings"
	// WarnEqualPressures: standing and running pressures are equal; they say
	// nothing about the charge and are not counted for low charge.
	WarnEqualPressures WarningKind = "equal-pressures"
	// WarnAskWhy: the part is at fault, and its own cause must be asked. Cause: the fault.
	WarnAskWhy WarningKind = "ask-why"
)

// Warning is a doubt about the advice, shown wherever the advice is shown.
type Warning struct {
	Kind    WarningKind
	Reading string // id of the reading it is about, if any
	Ref     Ref    // its ref
	Cause   string
	Value   float64
	Detail  string // a stable id
}

// ChargeGate says whether the refrigerant charge may be judged now.
type ChargeGate struct {
	Open bool
	// NoLiquid says that it is open because the system is empty, whatever else fails.
	NoLiquid bool
	// Reasons lists every condition that fails, in the order in which to mend them.
	Reasons []ChargeReason
	// OutdoorLimit is the limit in force.
	OutdoorLimit quantity.Temperature
	// ReturnAbove is set when the weather is a reason: return to judge the
	// charge when it is at least this warm outdoors.
	ReturnAbove quantity.Temperature
	// Matters says that a charge cause stands above 5 %, so that the gate is worth telling.
	Matters bool
}

// ChargeReason is one reason not to judge the charge.
type ChargeReason string

// The reasons, in the order of the trade's prerequisites.
const (
	ChargeRefrigerantUnknown ChargeReason = "refrigerant-unknown"
	ChargeNotPumping         ChargeReason = "compressor-not-pumping"
	ChargeNotSettled         ChargeReason = "not-settled"
	ChargeDirty              ChargeReason = "filter-or-coil-not-proven-clean"
	ChargeAirflowUnknown     ChargeReason = "airflow-unknown"
	ChargeMeteringUnknown    ChargeReason = "metering-device-unknown"
	ChargeOutdoorUnknown     ChargeReason = "outdoor-temperature-unknown"
	ChargeTooCool            ChargeReason = "outdoor-below-limit"
	ChargeWetBulbUnknown     ChargeReason = "return-wet-bulb-unknown"
)
