package visit

import (
	"context"
	"strings"
	"time"

	"rung/internal/fault"
	"rung/internal/fieldtest"
)

// Language is one in which advice is given. The zero value is English.
type Language string

// The languages.
const (
	English Language = "en"
	Spanish Language = "es"
)

// ParseLanguage returns the language of a code, "en" or "es"; English and false
// for any other.
func ParseLanguage(code string) (Language, bool) {
	switch l := Language(code); l {
	case English, Spanish:
		return l, true
	}
	return English, false
}

type languageKey struct{}

// WithLanguage asks Advise, Card, Checks, Compare, Repairs, Proof and Chain for their words in a language. What
// is recorded, and what a customer gets, stays in English.
func WithLanguage(ctx context.Context, l Language) context.Context {
	return context.WithValue(ctx, languageKey{}, l)
}

// LanguageOf returns the language that was asked for, English where none was.
func LanguageOf(ctx context.Context) Language {
	if l, asked := ctx.Value(languageKey{}).(Language); asked {
		return l
	}
	return English
}

// text returns a wording in the language.
func (l Language) text(t fault.Text) string { return t.In(string(l)) }

// Answer returns the wording of one of a closed list of answers, such as
// "hazard"; the id stands in for one not known.
func (l Language) Answer(kind, id string) string { return l.choice(kind, id).Name }

// Answers returns a closed list of answers in the language.
func (l Language) Answers(kind string) []Choice { return l.choices(kind) }

// Word returns a word of a point in the language. What is no word of it stays as
// it is.
func (l Language) Word(p *fieldtest.Point, word string) string {
	if i, known := p.Word(word); known {
		return l.wordOf(p, i)
	}
	return strings.ReplaceAll(word, "-", " ")
}

// Surrounding returns the name of what surrounds a system; the id stands in for
// one not known.
func (l Language) Surrounding(id string) string {
	for _, a := range surroundings() {
		if a.id == id {
			return l.text(a.called)
		}
	}
	return id
}

// SurroundingWhere returns where that is measured; empty for one not known.
func (l Language) SurroundingWhere(id string) string {
	for _, a := range surroundings() {
		if a.id == id {
			return l.text(a.where)
		}
	}
	return ""
}

// months are the names of the months in Spanish.
var months = [...]string{"enero", "febrero", "marzo", "abril", "mayo", "junio", "julio", "agosto", "septiembre", "octubre", "noviembre", "diciembre"}

// Month returns the name of a month.
func (l Language) Month(m time.Month) string {
	if l == Spanish {
		return months[m-1]
	}
	return m.String()
}
