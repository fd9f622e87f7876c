package replace

import (
	_ "embed"
	"fmt"
	"strings"
	"sync"

	"rung/internal/fault"
	"rung/internal/quantity"
)

// Sentence is a plain sentence made from data: its id, by which programs decide,
// and what is filled in. The wording stands in data/sentences.txt.
type Sentence struct {
	ID     string
	Values []Value
}

// Value is what fills one {name} of a sentence: an amount in SI, a word of the
// package's own, or text as it was given, such as what a terminal is marked.
type Value struct {
	Name   string
	Dim    quantity.Dimension // DimNone for a word, a count or text
	Amount float64
	Word   string // id of data/sentences.txt
	Given  string
}

// Show prints an amount in the units of the reader.
type Show func(dim quantity.Dimension, si float64) string

// In returns the sentence in a language, "es" or any other for English.
func (s Sentence) In(lang string, show Show) string {
	var pairs []string
	for _, v := range s.Values {
		pairs = append(pairs, "{"+v.Name+"}", v.in(lang, show))
	}
	return upper(strings.NewReplacer(pairs...).Replace(texts().sentences[s.ID].In(lang)))
}

func (v Value) in(lang string, show Show) string {
	switch {
	case v.Word != "":
		return Word(v.Word, lang)
	case v.Dim != quantity.DimNone:
		return show(v.Dim, v.Amount)
	}
	return v.Given
}

// Word returns the wording of an id such as that of a load, a remedy or a call,
// as it stands within a sentence. An id without wording is given as it is.
func Word(id, lang string) string {
	t, known := texts().words[id]
	if !known {
		return strings.ReplaceAll(id, "-", " ")
	}
	return t.In(lang)
}

// say makes a sentence. It panics if the id has no wording.
func say(id string, values ...Value) Sentence {
	if _, known := texts().sentences[id]; !known {
		panic("replace: no sentence " + id)
	}
	return Sentence{id, values}
}

func amount[Q ~float64](name string, dim quantity.Dimension, q Q) Value {
	return Value{Name: name, Dim: dim, Amount: float64(q)}
}

func microfarads(name string, c quantity.Capacitance) Value {
	return amount(name, quantity.DimCapacitance, c)
}
func volts(name string, v quantity.Voltage) Value { return amount(name, quantity.DimVoltage, v) }
func amps(name string, i quantity.Current) Value  { return amount(name, quantity.DimCurrent, i) }
func share(name string, r float64) Value          { return amount(name, quantity.DimRatio, r) }
func length(name string, l quantity.Length) Value { return amount(name, quantity.DimLength, l) }
func rating(name string, p quantity.Power) Value  { return amount(name, DimVoltAmps, p) }
func horses(name string, p quantity.Power) Value  { return amount(name, quantity.DimPower, p) }
func word(name, id string) Value                  { return Value{Name: name, Word: id} }
func given[S ~string](name string, text S) Value  { return Value{Name: name, Given: string(text)} }
func count(name string, n int) Value              { return Value{Name: name, Given: fmt.Sprint(n)} }

// DimVoltAmps is the dimension under which a Show is asked for apparent power,
// which is printed in VA where shaft power is printed in horsepower.
const DimVoltAmps quantity.Dimension = "apparent-power"

func upper(text string) string {
	if text == "" || text[0] < 'a' || text[0] > 'z' {
		return text
	}
	return strings.ToUpper(text[:1]) + text[1:]
}

//go:embed data/sentences.txt
var sentencesText string

// wording holds the texts of data/sentences.txt by id.
type wording struct{ sentences, words map[string]fault.Text }

var texts = sync.OnceValue(func() wording { return mustWording(sentencesText) })

func mustWording(text string) wording {
	f, err := fault.ParseFile("sentences.txt", text)
	if err != nil {
		panic("replace: " + err.Error())
	}
	keys := map[string]fault.Key[fault.Text]{
		"text":    fault.Required(fault.InWords(func(t *fault.Text) *string { return &t.EN })),
		"text.es": fault.InWords(func(t *fault.Text) *string { return &t.ES }),
	}
	w := wording{map[string]fault.Text{}, map[string]fault.Text{}}
	for _, b := range f.Blocks {
		var t fault.Text
		if err := fault.Decode(f, b, keys, &t); err != nil {
			panic("replace: " + err.Error())
		}
		into := w.sentences
		if b.Kind == "word" {
			into = w.words
		}
		if _, twice := into[b.ID]; twice {
			panic("replace: wording given twice: " + b.ID)
		}
		into[b.ID] = t
	}
	return w
}
