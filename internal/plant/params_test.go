package plant

import (
	"errors"
	"math"
	"regexp"
	"testing"

	"rung/internal/quantity"
)

func TestRegistryIsWellFormed(t *testing.T) {
	path := regexp.MustCompile(`^[a-z]+(-[a-z0-9]+)*/[a-z0-9]+(-[a-z0-9]+)*$`)
	for i, p := range Registry() {
		if !path.MatchString(p.Path) {
			t.Errorf("path %q is not part/parameter in lower case with dashes", p.Path)
		}
		if got, ok := Lookup(p.Path); !ok || got != Param(i) {
			t.Errorf("Lookup(%q) = %v, %v, want %d", p.Path, got, ok, i)
		}
		if p.Meaning == "" || len(p.Provenances) == 0 {
			t.Errorf("%s: no meaning or no provenance", p.Path)
		}
		if p.Words == nil && !(p.Min < p.Max) {
			t.Errorf("%s: range %g to %g is empty", p.Path, p.Min, p.Max)
		}
	}
}

func TestPutRefusesNonsense(t *testing.T) {
	var ps Params
	charge, pole := MustParam("refrigerant/charge"), MustParam("contactor/pole-1")
	var re *quantity.RangeError
	for _, v := range []float64{-0.1, 1.7, math.NaN(), math.Inf(1)} {
		if err := ps.Put(charge, v); !errors.As(err, &re) {
			t.Errorf("Put(charge, %v) = %v, want a RangeError", v, err)
		}
	}
	if err := ps.Put(pole, 0.5); err == nil {
		t.Error("Put(pole-1, 0.5) = nil, want an error: half a word")
	}
	if err := ps.PutWord(pole, "bent"); err == nil {
		t.Error(`PutWord(pole-1, "bent") = nil, want an error`)
	}
	if err := ps.PutWord(pole, "welded"); err != nil || ps.Word(pole) != "welded" {
		t.Errorf("PutWord(pole-1, welded) = %v, word %q", err, ps.Word(pole))
	}
	if err := ps.Scale(pole, 2); err == nil {
		t.Error("Scale of a word = nil, want an error")
	}
}

func TestParseParameterErrors(t *testing.T) {
	for _, line := range []string{
		"a/b | ratio | 1 | 0 | 2 | always | meaning",                    // a column short
		"a/b | ratio | 3 | 0 | 2 | always | meaning | practice: x",      // default out of range
		"a/b | ratio | x | 0 | 2 | always | meaning | practice: x",      // not a number
		"a/b | ratio | 1 | 0 | 2 | gearbox | meaning | practice: x",     // unknown equipment
		"a/b | ratio | 1 | 0 | 2 | always | meaning | hearsay: x",       // unknown class
		"a/b | words: on off | up | | | always | meaning | practice: x", // default not a word
	} {
		if _, err := parseParameter(line); err == nil {
			t.Errorf("parseParameter(%q) = nil error", line)
		}
	}
}
