package visit

import (
	"fmt"
	"strings"
)

// Kind is the kind of an Error, of a closed list.
type Kind string

// The kinds.
const (
	NotFound   Kind = "not-found"
	Invalid    Kind = "invalid"
	OutOfRange Kind = "out-of-range"
	Conflict   Kind = "conflict"
	Denied     Kind = "denied"
)

// Error is a mistake that the person at the screen can mend. Message is a whole
// sentence with the number and unit as typed, and says what to do.
type Error struct {
	Kind    Kind
	Message string
	// Fields holds a message for each field of the form that is wrong, by its
	// name; empty if the form as a whole is.
	Fields []FieldError
}

// FieldError is what is wrong with one field.
type FieldError struct {
	Field   string
	Kind    Kind
	Message string
}

func (e *Error) Error() string {
	if e.Message != "" || len(e.Fields) == 0 {
		return e.Message
	}
	var all []string
	for _, f := range e.Fields {
		all = append(all, f.Field+": "+f.Message)
	}
	return strings.Join(all, "; ")
}

// Field returns the message for a field, empty if it is right.
func (e *Error) Field(name string) string {
	for _, f := range e.Fields {
		if f.Field == name {
			return f.Message
		}
	}
	return ""
}

func errorf(kind Kind, format string, args ...any) *Error {
	return &Error{Kind: kind, Message: fmt.Sprintf(format, args...)}
}
