package tradeunit

import (
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"strconv"
	"strings"

	"rung/internal/quantity"
)

// Amount is a quantity as somebody read or typed it: the decimal text is kept.
type Amount struct {
	Text   string  // the number as typed, e.g. "4.90"
	Number float64 // the same, in Unit
	Unit   Unit
}

// SI returns the amount in SI; ambient is the air pressure of the site.
func (a Amount) SI(ambient quantity.Pressure) float64 { return a.Unit.SI(a.Number, ambient) }

func (a Amount) String() string { return a.Text + " " + a.Unit.Symbol }

// Errors of Parse.
var (
	ErrNumber    = errors.New("not a number")
	ErrUnit      = errors.New("unknown unit")
	ErrDimension = errors.New("wrong kind of unit")
)

// Parse reads an amount of dimension dim, such as "118 psig", "-4.5 °F" or
// "65uF". A number without a unit takes fallback, if that is not empty.
//
// The error wraps ErrNumber, ErrUnit or ErrDimension and quotes text.
func Parse(text string, dim quantity.Dimension, fallback string) (Amount, error) {
	s := strings.TrimSpace(text)
	n := numberLength(s)
	number, err := strconv.ParseFloat(s[:n], 64)
	if err != nil || math.IsInf(number, 0) {
		return Amount{}, fmt.Errorf("%q: %w", text, ErrNumber)
	}
	symbol := strings.TrimSpace(s[n:])
	if symbol == "" {
		symbol = fallback
	}
	u, err := Lookup(dim, symbol)
	if err != nil {
		return Amount{}, fmt.Errorf("%q: %w", text, err)
	}
	return Amount{Text: s[:n], Number: number, Unit: u}, nil
}

// numberLength returns the length of the decimal number that starts s.
func numberLength(s string) int {
	n, digits := 0, false
	for n < len(s) {
		c := s[n]
		switch {
		case c >= '0' && c <= '9':
			digits = true
		case c == '.':
		case (c == '+' || c == '-') && (n == 0 || s[n-1] == 'e' || s[n-1] == 'E'):
		case (c == 'e' || c == 'E') && digits && exponentFollows(s[n+1:]):
		default:
			return n
		}
		n++
	}
	return n
}

func exponentFollows(s string) bool {
	s = strings.TrimLeft(s, "+-")
	return s != "" && s[0] >= '0' && s[0] <= '9'
}

// Lookup finds the unit of dimension dim with this symbol or alias. Case is
// ignored where that leaves one meaning.
func Lookup(dim quantity.Dimension, symbol string) (Unit, error) {
	if symbol == "" {
		return Unit{}, fmt.Errorf("%w: none given, want %s", ErrUnit, strings.Join(Symbols(dim), ", "))
	}
	for _, same := range []func(a, b string) bool{equal, strings.EqualFold} {
		for _, u := range units {
			if u.Dim == dim && u.named(symbol, same) {
				return u, nil
			}
		}
	}
	for _, u := range units {
		if u.named(symbol, strings.EqualFold) {
			return Unit{}, fmt.Errorf("%w: %s is a unit of %s, want %s", ErrDimension, symbol, u.Dim, strings.Join(Symbols(dim), ", "))
		}
	}
	return Unit{}, fmt.Errorf("%w %q, want %s", ErrUnit, symbol, strings.Join(Symbols(dim), ", "))
}

func equal(a, b string) bool { return a == b }

func (u Unit) named(symbol string, same func(a, b string) bool) bool {
	if same(u.Symbol, symbol) {
		return true
	}
	for _, a := range u.Aliases {
		if same(a, symbol) {
			return true
		}
	}
	return false
}

// Symbols returns the units of dim, the usual one of the US trade first.
func Symbols(dim quantity.Dimension) []string {
	var list []string
	for _, u := range units {
		if u.Dim == dim {
			list = append(list, u.Symbol)
		}
	}
	return list
}

// System is a choice between the units of the US trade and SI.
type System string

// The two systems of units.
const (
	US System = "us"
	SI System = "si"
)

// Preferred returns the unit in which dim is shown in this system: for US the
// one on the meter, for SI the base unit without prefix. Ratios are shown as
// they are. It panics if dim has no unit: a missing row of the table above.
func (s System) Preferred(dim quantity.Dimension) Unit {
	found := Unit{Scale: math.NaN()}
	for _, u := range units {
		if u.Dim != dim || s == SI && (u.Scale != 1 || u.Offset != 0 || u.Gauge) {
			continue
		}
		found = u
		if s == US {
			break
		}
	}
	if math.IsNaN(found.Scale) {
		panic("tradeunit: no unit of " + string(dim))
	}
	return found
}

// Format prints the SI value si in unit u with the given number of decimals.
func (u Unit) Format(si float64, ambient quantity.Pressure, decimals int) string {
	x := u.Of(si, ambient)
	if math.Abs(x) < 0.5*math.Pow(10, -float64(decimals)) {
		x = 0 // never "-0"
	}
	return strconv.FormatFloat(x, 'f', decimals, 64) + " " + u.Symbol
}

// UnmarshalJSON reads a quantity from its JSON forms "118 psig" and
// {"value": 118, "unit": "psig"} into raw text for Parse.
func (r *Raw) UnmarshalJSON(b []byte) error {
	var text string
	if json.Unmarshal(b, &text) == nil {
		*r = Raw(text)
		return nil
	}
	var pair struct {
		Value *json.Number `json:"value"`
		Unit  string       `json:"unit"`
	}
	if err := json.Unmarshal(b, &pair); err != nil || pair.Value == nil {
		return fmt.Errorf("quantity %s: want \"118 psig\" or {\"value\": 118, \"unit\": \"psig\"}", b)
	}
	*r = Raw(pair.Value.String() + " " + pair.Unit)
	return nil
}

// Raw is a quantity in a JSON document, not yet parsed.
type Raw string
