package fault

import (
	"fmt"
	"slices"
	"strconv"
	"strings"

	"rung/internal/source"
)

// Key says how one field of a block is read into a T.
type Key[T any] struct {
	Set    func(*T, string) error
	Must   bool // the block is wrong without it
	Repeat bool // may stand more than once
}

// Decode reads the fields of b into into by the keys of its kind. Unknown,
// missing and repeated fields are errors; every error is a *SyntaxError.
func Decode[T any](f File, b Block, keys map[string]Key[T], into *T) error {
	wrong := func(line int, format string, args ...any) error {
		return &SyntaxError{File: f.Name, Line: line, Msg: fmt.Sprintf("%s %s: ", b.Kind, b.ID) + fmt.Sprintf(format, args...)}
	}
	among := func(fields []Field, key string) bool {
		return slices.ContainsFunc(fields, func(f Field) bool { return f.Key == key })
	}
	for i, field := range b.Fields {
		key, known := keys[field.Key]
		if !known {
			return wrong(field.Line, "unknown field %q", field.Key)
		}
		if !key.Repeat && among(b.Fields[:i], field.Key) {
			return wrong(field.Line, "%q stands twice", field.Key)
		}
		if err := key.Set(into, field.Value); err != nil {
			return wrong(field.Line, "%s: %v", field.Key, err)
		}
	}
	for name, key := range keys {
		if key.Must && !among(b.Fields, name) {
			return wrong(b.Line, "%q is missing", name)
		}
	}
	return nil
}

// Text is wording for people, English first.
type Text struct{ EN, ES string }

// In returns the wording in a language, "es" or any other for English; where
// the wording is not translated it is English.
func (t Text) In(lang string) string {
	if lang == "es" && t.ES != "" {
		return t.ES
	}
	return t.EN
}

// The makers of keys below are shared with the catalogue of checks.

// InWords reads free text into the field that at points to.
func InWords[T any](at func(*T) *string) Key[T] {
	return Key[T]{Set: func(t *T, s string) error { *at(t) = s; return nil }}
}

// Number reads a plain number between lo and hi.
func Number[T any](at func(*T) *float64, lo, hi float64) Key[T] {
	return Key[T]{Set: func(t *T, s string) error {
		x, err := strconv.ParseFloat(s, 64)
		if err != nil || !(lo <= x && x <= hi) {
			return fmt.Errorf("%q is not a number from %g to %g", s, lo, hi)
		}
		*at(t) = x
		return nil
	}}
}

// IDs reads ids separated by blanks.
func IDs[T any](at func(*T) *[]string) Key[T] {
	return Key[T]{Set: func(t *T, s string) error {
		for _, id := range strings.Fields(s) {
			if !validID(id) {
				return fmt.Errorf("%q is not an id", id)
			}
			*at(t) = append(*at(t), id)
		}
		return nil
	}}
}

// Flag reads yes or no.
func Flag[T any](at func(*T) *bool) Key[T] {
	return Key[T]{Set: func(t *T, s string) error {
		if s != "yes" && s != "no" {
			return fmt.Errorf("%q, want yes or no", s)
		}
		*at(t) = s == "yes"
		return nil
	}}
}

// Sourced reads a source of the form "class: reference".
func Sourced[T any](at func(*T) *source.Source) Key[T] {
	return Key[T]{Set: func(t *T, s string) (err error) {
		*at(t), err = source.Parse(s)
		return err
	}}
}

// Required returns k as a field that must be there.
func Required[T any](k Key[T]) Key[T] { k.Must = true; return k }

// Repeated returns k as a field that may stand more than once.
func Repeated[T any](k Key[T]) Key[T] { k.Repeat = true; return k }
