package visit

import (
	"fmt"
	"math"
	"strings"
	"sync"
	"unicode"
	"unicode/utf8"

	"rung/internal/fault"
	"rung/internal/quantity"
	"rung/internal/tradeunit"
)

// sentences holds the wording of advice by id: data/sentences.txt.
var sentences = sync.OnceValue(func() map[string]fault.Text { return readSentences(readData("sentences.txt")) })

func readSentences(f fault.File) map[string]fault.Text {
	keys := map[string]fault.Key[fault.Text]{
		"text":    fault.Required(fault.InWords(func(t *fault.Text) *string { return &t.EN })),
		"text.es": fault.InWords(func(t *fault.Text) *string { return &t.ES }),
	}
	all := map[string]fault.Text{}
	for _, b := range f.Blocks {
		var t fault.Text
		mustDecode(f, b, keys, &t)
		all[b.ID] = t
	}
	return all
}

// say returns the sentence with this id, beginning with a capital, its {names}
// filled in from pairs of name and value. It panics if there is no such sentence.
func (l Language) say(id string, pairs ...string) string { return upper(l.phrase(id, pairs...)) }

// phrase is say for what stands within a sentence.
func (l Language) phrase(id string, pairs ...string) string {
	t, known := sentences()[id]
	if !known {
		panic("visit: no sentence " + id)
	}
	for i := 0; i < len(pairs); i += 2 {
		pairs[i] = "{" + pairs[i] + "}"
	}
	return strings.NewReplacer(pairs...).Replace(l.text(t))
}

// inHundred returns a probability in words, never as certainty.
func (l Language) inHundred(p float64) string { return l.phrase("in-hundred", "n", l.hundredths(p)) }

// hundredths is inHundred without of how many.
func (l Language) hundredths(p float64) string {
	switch n := math.Round(100 * p); {
	case n < 1:
		return l.phrase("less-than", "value", "1")
	case n > 99:
		return l.phrase("more-than", "value", "99")
	default:
		return fmt.Sprintf("%.0f", n)
	}
}

// percent returns a probability in whole hundredths.
func percent(p float64) string { return fmt.Sprintf("%.0f", 100*p) }

// inMinutes returns a time to the whole minute.
func (l Language) inMinutes(m float64) string {
	if math.Round(m) == 1 {
		return l.phrase("one-minute")
	}
	return l.phrase("minutes", "n", fmt.Sprintf("%.0f", m))
}

// andList joins words as they are said: "a, b and c".
func (l Language) andList(words []string) string {
	if len(words) < 2 {
		return strings.Join(words, "")
	}
	last := words[len(words)-1]
	return strings.Join(words[:len(words)-1], ", ") + l.joint(" and ", " y ", " e ", "ií", last) + last
}

// orList joins what may be one or another.
func (l Language) orList(words []string) string {
	var b strings.Builder
	for i, w := range words {
		if i > 0 {
			b.WriteString(l.joint(" or ", " o ", " u ", "oó", w))
		}
		b.WriteString(w)
	}
	return b.String()
}

// joint returns the word that joins next to what stands before it. In Spanish it
// is another before a word that begins with its own sound, h or not: "y" before
// "interruptor" is "e".
func (l Language) joint(english, spanish, before, sounds, next string) string {
	if l != Spanish {
		return english
	}
	first, _ := utf8.DecodeRuneInString(strings.TrimPrefix(strings.ToLower(next), "h"))
	if strings.ContainsRune(sounds, first) && !strings.HasPrefix(strings.ToLower(next), "hie") {
		return before
	}
	return spanish
}

// lower returns a name as it stands within a sentence.
func (Language) lower(name string) string { return fault.Inner(name) }

// inUnit prints an SI value in a unit with its symbol, to the step of its
// meter in SI; without one, to three digits.
func inUnit(si float64, dim quantity.Dimension, symbol string, step float64, ambient quantity.Pressure) string {
	u := mustUnit(dim, largeUnit(si, dim, symbol))
	return u.Format(si, ambient, decimalsOf(u, step, u.Of(si, ambient)))
}

func mustUnit(dim quantity.Dimension, symbol string) tradeunit.Unit {
	u, err := tradeunit.Lookup(dim, symbol)
	if err != nil {
		panic("visit: " + err.Error())
	}
	return u
}

// decimalsOf returns how many decimals of u show a step in SI; without a step,
// three digits of x, and of nothing one.
func decimalsOf(u tradeunit.Unit, step, x float64) int {
	if step <= 0 && x == 0 {
		return 0
	}
	if step <= 0 {
		return decimalsFor(x)
	}
	return min(decimalsFor(x)+1, 3, max(0, int(math.Ceil(-math.Log10(step/u.Scale)-0.01))))
}

// between prints a range in a unit: "38 to 46 µF". Both ends are given to the
// same step; without one, to three digits of the larger.
func (l Language) between(low, high float64, dim quantity.Dimension, symbol string, step float64, ambient quantity.Pressure) string {
	symbol = largeUnit(high, dim, symbol)
	u := mustUnit(dim, symbol)
	decimals := decimalsOf(u, step, max(math.Abs(u.Of(low, ambient)), math.Abs(u.Of(high, ambient))))
	a, b := u.Format(low, ambient, decimals), u.Format(high, ambient, decimals)
	if a == b {
		return a
	}
	return l.phrase("from-to", "low", strings.TrimSuffix(a, " "+symbol), "high", b)
}

// largeUnit returns a larger unit of resistance for numbers that would be
// unwieldy in symbol: 20000000 Ω is said as 20 MΩ.
func largeUnit(si float64, dim quantity.Dimension, symbol string) string {
	switch {
	case dim != quantity.DimResistance || math.Abs(si) < 1e4:
		return symbol
	case math.Abs(si) < 1e6:
		return "kΩ"
	}
	return "MΩ"
}

// fahrenheit prints a temperature in whole degrees, as it is said of the
// weather.
func fahrenheit(t quantity.Temperature) string {
	return mustUnit(quantity.DimTemperature, "°F").Format(t.Kelvin(), standardAir, 0)
}

// upper begins a text with a capital.
func upper(text string) string {
	r, size := utf8.DecodeRuneInString(text)
	return string(unicode.ToUpper(r)) + text[size:]
}

// usualUnit returns the unit of the US trade for a dimension.
func usualUnit(dim quantity.Dimension) string { return tradeunit.US.Preferred(dim).Symbol }
