package visit

import (
	"embed"
	"errors"
	"strconv"
	"strings"
	"sync"

	"rung/internal/fault"
	"rung/internal/quantity"
	"rung/internal/record"
	"rung/internal/tradeunit"
)

//go:embed data/*.txt
var data embed.FS

// readData reads a file of data/. It panics if the file is wrong: it is part
// of the program, and tested.
func readData(name string) fault.File {
	text, err := data.ReadFile("data/" + name)
	if err != nil {
		panic("visit: " + err.Error())
	}
	f, err := fault.ParseFile(name, string(text))
	if err != nil {
		panic("visit: " + err.Error())
	}
	return f
}

// answer is one of a closed list: data/choices.txt.
type answer struct {
	id       string
	name, do fault.Text
}

var answers = sync.OnceValue(func() map[string][]answer { return readAnswers(readData("choices.txt")) })

// readAnswers returns the answers by the kind of their list, in order.
func readAnswers(f fault.File) map[string][]answer {
	keys := map[string]fault.Key[answer]{
		"name":    fault.Required(fault.InWords(func(a *answer) *string { return &a.name.EN })),
		"name.es": fault.Required(fault.InWords(func(a *answer) *string { return &a.name.ES })),
		"do":      fault.InWords(func(a *answer) *string { return &a.do.EN }),
		"do.es":   fault.InWords(func(a *answer) *string { return &a.do.ES }),
	}
	lists := map[string][]answer{}
	for _, b := range f.Blocks {
		a := answer{id: b.ID}
		mustDecode(f, b, keys, &a)
		lists[b.Kind] = append(lists[b.Kind], a)
	}
	return lists
}

func mustDecode[T any](f fault.File, b fault.Block, keys map[string]fault.Key[T], into *T) {
	if err := fault.Decode(f, b, keys, into); err != nil {
		panic("visit: " + err.Error())
	}
}

func (l Language) choices(kind string) []Choice {
	var list []Choice
	for _, a := range answers()[kind] {
		list = append(list, Choice{a.id, l.text(a.name)})
	}
	return list
}

// choice returns an answer with its name; the id stands in for a name not known.
func (l Language) choice(kind, id string) Choice {
	for _, a := range answers()[kind] {
		if a.id == id {
			return Choice{id, l.text(a.name)}
		}
	}
	return Choice{id, id}
}

// UnitKinds lists the kinds of unit.
func (s *Service) UnitKinds() []Choice { return English.choices("unit-kind") }

// Hazards lists the hazards that can be noted.
func (s *Service) Hazards() []Choice { return English.choices("hazard") }

// RefusalReasons lists why a check could not be done.
func (s *Service) RefusalReasons() []Choice { return English.choices("refusal") }

// Outcomes lists how a visit may end.
func (s *Service) Outcomes() []Choice { return English.choices("outcome") }

// amountField says what may be typed into a field for a quantity.
type amountField struct {
	id, name  string     // name as in messages: "Line voltage"
	called    fault.Text // the same in each language
	where     fault.Text
	dim       quantity.Dimension
	unit      string // of a bare number
	low, high string // what can be real, both included, in a unit of dim
}

var surroundings = sync.OnceValue(func() []amountField { return readSurroundings(readData("surroundings.txt")) })

func readSurroundings(f fault.File) []amountField {
	keys := map[string]fault.Key[amountField]{
		"name":     fault.Required(fault.InWords(func(a *amountField) *string { return &a.called.EN })),
		"name.es":  fault.Required(fault.InWords(func(a *amountField) *string { return &a.called.ES })),
		"where":    fault.Required(fault.InWords(func(a *amountField) *string { return &a.where.EN })),
		"where.es": fault.Required(fault.InWords(func(a *amountField) *string { return &a.where.ES })),
		"dim":      fault.Required(fault.InWords(func(a *amountField) *string { return (*string)(&a.dim) })),
		"unit":     fault.Required(fault.InWords(func(a *amountField) *string { return &a.unit })),
		"low":      fault.Required(fault.InWords(func(a *amountField) *string { return &a.low })),
		"high":     fault.Required(fault.InWords(func(a *amountField) *string { return &a.high })),
	}
	var list []amountField
	for _, b := range f.Blocks {
		a := amountField{id: b.ID}
		mustDecode(f, b, keys, &a)
		a.name = a.called.EN
		list = append(list, a)
	}
	return list
}

// elevation is how high a property lies.
func elevation() amountField { return surrounding("elevation") }

func surrounding(id string) amountField {
	for _, a := range surroundings() {
		if a.id == id {
			return a
		}
	}
	panic("visit: no surrounding " + id)
}

// standardAir is the air pressure at which limits are compared: no limit of
// what can be real is so sharp that that of the site would matter.
const standardAir quantity.Pressure = 101325 // published: standard atmosphere, by definition

// read parses what was typed and keeps its digits. A problem is a whole
// sentence with the number and unit as typed.
func (a amountField) read(l Language, text string) (v record.AsRead, kind Kind, problem string) {
	typed, err := tradeunit.Parse(text, a.dim, a.unit)
	if err != nil {
		return v, Invalid, a.typingProblem(l, text, err)
	}
	si := typed.SI(standardAir)
	if si < mustSI(a.low, a.dim) || si > mustSI(a.high, a.dim) {
		return v, OutOfRange, l.phrase("reading-cannot-be", "point", a.nameIn(l), "typed", typed.String(), "low", a.low, "high", a.high, "advice", l.say("read-again"))
	}
	return record.AsRead{Text: typed.Text, Unit: typed.Unit.Symbol}, "", ""
}

// nameIn returns the name in a language, in English where it has no other.
func (a amountField) nameIn(l Language) string {
	if a.called.EN == "" {
		return a.name
	}
	return l.text(a.called)
}

// typingProblem says what is wrong with text that is no amount of the field.
func (a amountField) typingProblem(l Language, text string, err error) string {
	pairs := []string{"point", a.nameIn(l), "typed", strconv.Quote(clean(text)), "units", strings.Join(tradeunit.Symbols(a.dim), ", ")}
	switch {
	case errors.Is(err, tradeunit.ErrDimension):
		return l.phrase("typed-other-unit", pairs...)
	case errors.Is(err, tradeunit.ErrUnit):
		return l.phrase("typed-unknown-unit", pairs...)
	}
	return l.phrase("typed-no-number", pairs...)
}
