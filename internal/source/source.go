// Package source says where a number comes from.
//
// Every constant, table and check in the project belongs to one of three
// classes, written the same way everywhere:
//
//	published: author year, table or equation
//	practice:  who says so; no source
//	memory:    the source it is believed to come from, not seen
package source

import (
	"fmt"
	"strings"
)

// Class is how far a number can be trusted.
type Class string

// The classes, from firm to weak.
const (
	Published Class = "published"
	Practice  Class = "practice"
	Memory    Class = "memory"
)

// Source is a class with its reference in words.
type Source struct {
	Class Class
	Ref   string
}

// Parse reads "class: reference" as it stands in comments and data files.
func Parse(s string) (Source, error) {
	class, ref, found := strings.Cut(s, ":")
	c := Class(strings.TrimSpace(class))
	ref = strings.TrimSpace(ref)
	switch {
	case !found || ref == "":
		return Source{}, fmt.Errorf("source %q: want \"class: reference\"", s)
	case c != Published && c != Practice && c != Memory:
		return Source{}, fmt.Errorf("source %q: unknown class %q", s, class)
	}
	return Source{Class: c, Ref: ref}, nil
}

func (s Source) String() string { return string(s.Class) + ": " + s.Ref }
