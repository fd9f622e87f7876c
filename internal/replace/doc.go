// Package replace plans what goes in the place of a part: which of the parts on
// the truck fit, best first, and why the others do not; how a thermostat is
// changed wire by wire; what a branch circuit must carry.
//
// Every planner is a pure function of what was read from labels and plates. It
// asks first what is on the truck, and says what to buy only beside it. What it
// says is a Sentence: an id for programs, and data that fill a wording which
// stands in data/sentences.txt alone. Amounts are SI; whoever shows them chooses
// the units. Cautions are ids of the catalogue of package fieldtest and stand
// at the step they belong to.
//
// A thermostat is a small model and not a table of cases: terminals are roles,
// conductors join them to loads and transformers, a call closes contacts. Every
// plan is tried on that model before it is given: each call must energise what
// the system expects and nothing else, and two transformers must never meet.
// The model has no resistances; a test solves accepted plans once more with
// package circuit, which has.
//
// Left out: line-voltage, millivolt and communicating thermostats, three stages,
// zone panels, dampers, and every motor with a module other than the maker's
// part. These are refused, never guessed.
//
// The nameplate, the maker's instructions and local code win over everything
// said here.
package replace
