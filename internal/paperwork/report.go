package paperwork

import (
	"strings"

	"rung/internal/blob"
)

// Report is the visit report for the customer: what was said, found, done and
// proved, in plain words.
type Report struct {
	Shop         string
	Phone        string
	Property     string
	System       string
	Day          string
	By           string
	Said         string   // in the customer's own words
	Found        []string // plain words, with the reading that shows it
	Done         []Work
	Proof        []ProofLine
	Limits       []string // what the season did not allow
	Unjudged     []string
	Todo         string
	Safety       []string
	Advice       []string
	Differ       []string // where entries differ, settled or not, for the next mechanic
	Surroundings string
	Readings     []Reading
	Photos       []Photo // that the customer gets
	Open         bool    // the visit is not closed yet: the report is a draft
}

// Photo is a photo of the report.
type Photo struct {
	Hash          blob.Hash
	Name          string // what it shows
	Address       string // of the picture; empty if it is not here yet
	Width, Height int    // in points, as shown; 0 where not known
	Content       []byte // of the picture, for a PDF; nil if it is not here
}

// Work is a repair as recorded.
type Work struct {
	What     string
	Out, In  string
	Measured string // what the old part measured
	Why      string // why it failed
}

// ProofLine is one reading that proves the repair.
type ProofLine struct {
	Name   string
	Before string
	After  string
	Must   string
	Word   string // "holds", "does not hold", "not read"
}

// String says what was done in one sentence.
func (w Work) String() string {
	parts := nonEmpty(w.What, prefixed("out: ", w.Out), prefixed("in: ", w.In), prefixed("the old part measured ", w.Measured), prefixed("why it failed: ", w.Why))
	return strings.Join(parts, "; ")
}

// String says before, after and what a healthy unit shows.
func (p ProofLine) String() string {
	parts := nonEmpty(prefixed("before ", p.Before), prefixed("now ", p.After), prefixed("healthy ", p.Must), p.Word)
	return p.Name + ": " + strings.Join(parts, ", ")
}

func prefixed(before, s string) string {
	if s == "" {
		return ""
	}
	return before + s
}

func nonEmpty(list ...string) []string {
	var kept []string
	for _, s := range list {
		if s != "" {
			kept = append(kept, s)
		}
	}
	return kept
}
