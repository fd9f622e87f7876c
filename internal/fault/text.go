package fault

import (
	"fmt"
	"strings"

	"rung/internal/source"
)

// A data file of the catalogues is plain text:
//
//	# title: what the file holds
//	# source: practice: who says so
//
//	kind some-id
//	key: value, which may go on
//	  on an indented line
//
// Lines that start with # are remarks; title and source must be among those
// before the first block. A line without a colon after its first word opens a
// block; the order of blocks and fields is kept.

// File is one data file, parsed but not yet understood.
type File struct {
	Name   string
	Title  string
	Source source.Source
	Blocks []Block
}

// Block is one entry: its kind, its id and its fields.
type Block struct {
	Kind, ID string
	Line     int
	Fields   []Field
}

// Field is one "key: value" of a block.
type Field struct {
	Key, Value string
	Line       int
}

// SyntaxError says where a data file is wrong.
type SyntaxError struct {
	File string
	Line int
	Msg  string
}

func (e *SyntaxError) Error() string { return fmt.Sprintf("%s:%d: %s", e.File, e.Line, e.Msg) }

// ParseFile reads the text of a data file; name is used in errors only.
// An error is a *SyntaxError.
func ParseFile(name, text string) (File, error) {
	p := fileParser{file: File{Name: name}}
	n := 0
	for line := range strings.Lines(text) {
		n++
		if err := p.line(n, strings.TrimRight(line, " \t\r\n")); err != nil {
			return File{}, err
		}
	}
	if p.file.Title == "" || p.file.Source == (source.Source{}) {
		return File{}, p.wrong(1, "the head must give \"# title: …\" and \"# source: class: reference\"")
	}
	return p.file, nil
}

type fileParser struct{ file File }

// fieldsOfMost is as many fields as most blocks have.
const fieldsOfMost = 12

func (p *fileParser) wrong(line int, format string, args ...any) error {
	return &SyntaxError{File: p.file.Name, Line: line, Msg: fmt.Sprintf(format, args...)}
}

func (p *fileParser) line(n int, s string) error {
	switch {
	case s == "":
		return nil
	case strings.HasPrefix(s, "#"):
		return p.remark(n, s)
	case s[0] == ' ' || s[0] == '\t':
		return p.goesOn(n, strings.TrimSpace(s))
	}
	first, rest, _ := strings.Cut(s, " ")
	if key, isField := strings.CutSuffix(first, ":"); isField {
		return p.field(n, key, strings.TrimSpace(rest))
	}
	rest = strings.TrimSpace(rest)
	if !validID(first) || !validID(rest) {
		return p.wrong(n, "%q: want \"kind some-id\" or \"key: value\"", s)
	}
	p.file.Blocks = append(p.file.Blocks, Block{Kind: first, ID: rest, Line: n, Fields: make([]Field, 0, fieldsOfMost)})
	return nil
}

// remark keeps title and source of the head; other remarks are for the reader.
func (p *fileParser) remark(n int, s string) error {
	key, value, _ := strings.Cut(strings.TrimSpace(strings.TrimPrefix(s, "#")), ":")
	value = strings.TrimSpace(value)
	if len(p.file.Blocks) > 0 {
		return nil
	}
	switch {
	case key == "title" && p.file.Title == "":
		p.file.Title = value
	case key == "source" && p.file.Source == source.Source{}:
		src, err := source.Parse(value)
		if err != nil {
			return p.wrong(n, "%v", err)
		}
		p.file.Source = src
	}
	return nil
}

func (p *fileParser) field(n int, key, value string) error {
	switch {
	case len(p.file.Blocks) == 0:
		return p.wrong(n, "%q stands before the first block", key)
	case !validKey(key):
		return p.wrong(n, "bad key %q", key)
	case value == "":
		return p.wrong(n, "%q has no value", key)
	}
	b := &p.file.Blocks[len(p.file.Blocks)-1]
	b.Fields = append(b.Fields, Field{Key: key, Value: value, Line: n})
	return nil
}

func (p *fileParser) goesOn(n int, s string) error {
	if len(p.file.Blocks) == 0 || len(p.file.Blocks[len(p.file.Blocks)-1].Fields) == 0 {
		return p.wrong(n, "an indented line goes on with a field, and there is none before it")
	}
	fields := p.file.Blocks[len(p.file.Blocks)-1].Fields
	fields[len(fields)-1].Value += " " + s
	return nil
}

// validID reports whether s is lower-case words joined by dashes.
func validID(s string) bool {
	if s == "" || s[0] == '-' || s[len(s)-1] == '-' {
		return false
	}
	for _, c := range []byte(s) {
		if !('a' <= c && c <= 'z' || '0' <= c && c <= '9' || c == '-') {
			return false
		}
	}
	return true
}

// validKey reports whether s is an id, or one with a language: "text.es".
func validKey(s string) bool {
	base, lang, has := strings.Cut(s, ".")
	return validID(base) && (!has || validID(lang))
}

// String prints f in the form that ParseFile reads, without its remarks.
func (f File) String() string {
	var b strings.Builder
	fmt.Fprintf(&b, "# title: %s\n# source: %s\n", f.Title, f.Source)
	for _, block := range f.Blocks {
		fmt.Fprintf(&b, "\n%s %s\n", block.Kind, block.ID)
		for _, field := range block.Fields {
			fmt.Fprintf(&b, "%s: %s\n", field.Key, field.Value)
		}
	}
	return b.String()
}
