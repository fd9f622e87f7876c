package published

import (
	"fmt"
	"os"
	"regexp"
	"strconv"
	"strings"

	"rung/internal/source"
)

// Table is one file of values from outside.
type Table struct {
	File    string // name within testdata/published
	Title   string
	Columns []Column
	Rows    []Row
	bars    bool // cells are parted by bars
}

// Column is a name with its unit, "" if it has none.
type Column struct{ Name, Unit string }

// Head is what the comments say of the rows below them.
type Head struct {
	Sources   []source.Source
	Tolerance string // with its reason
	Computed  string // by which program, if from the same equations
	Notes     []string
}

// Row is one line of a table.
type Row struct {
	*Head
	Line  int // in the file, from 1
	Cells []string
	table *Table
}

// ReadFile reads the table at path.
func ReadFile(path string) (*Table, error) {
	text, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	return parse(path[strings.LastIndexByte(path, '/')+1:], string(text))
}

// parse reads the text of file.
func parse(file, text string) (*Table, error) {
	p := parser{table: &Table{File: file}, head: &Head{}}
	for i, line := range strings.Split(text, "\n") {
		if err := p.line(i+1, strings.TrimSpace(line)); err != nil {
			return nil, fmt.Errorf("%s:%d: %w", file, i+1, err)
		}
	}
	if len(p.table.Rows) == 0 {
		return nil, fmt.Errorf("%s: no rows", file)
	}
	return p.table, nil
}

// parser holds the head in force and what a continued line belongs to.
type parser struct {
	table *Table
	head  *Head
	used  bool // the head has rows
	more  func(string)
}

func (p *parser) line(number int, line string) error {
	switch {
	case line == "":
		return nil
	case line[0] == '#':
		return p.comment(line[1:])
	}
	r := Row{Head: p.head, Line: number, Cells: p.table.split(line), table: p.table}
	p.used = true
	if p.table.Columns != nil && len(r.Cells) != len(p.table.Columns) {
		return fmt.Errorf("%d cells, want %d", len(r.Cells), len(p.table.Columns))
	}
	if own := r.Text("source"); own != "" {
		s, err := source.Parse(own)
		if err != nil {
			return err
		}
		h := *p.head
		h.Sources, r.Head = []source.Source{s}, &h
	}
	if len(r.Sources) == 0 || r.Tolerance == "" {
		return fmt.Errorf("the head gives no source or no tolerance")
	}
	p.table.Rows = append(p.table.Rows, r)
	return nil
}

func (p *parser) comment(text string) error {
	if strings.HasPrefix(text, "  ") {
		if p.more != nil {
			p.more(" " + strings.TrimSpace(text))
		}
		return nil
	}
	p.more = nil
	text = strings.TrimSpace(text)
	if p.table.Title == "" {
		p.table.Title = text
		return nil
	}
	key, value, _ := strings.Cut(text, ":")
	value = strings.TrimSpace(value)
	switch key {
	case "columns":
		p.table.setColumns(value)
	case "published", "practice", "memory":
		h := p.own()
		h.Sources = append(h.Sources, source.Source{Class: source.Class(key), Ref: value})
		last := &h.Sources[len(h.Sources)-1]
		p.more = func(s string) { last.Ref += s }
	case "note":
		h := p.own()
		h.Notes = append(h.Notes, value)
		last := &h.Notes[len(h.Notes)-1]
		p.more = func(s string) { *last += s }
	case "tolerance":
		h := p.own()
		h.Tolerance = value
		p.more = func(s string) { h.Tolerance += s }
	case "computed":
		h := p.own()
		h.Computed = value
		p.more = func(s string) { h.Computed += s }
	}
	return nil
}

// own returns a head without rows: after rows a new one, which keeps the
// tolerance until another is given and nothing else.
func (p *parser) own() *Head {
	if p.used {
		p.head, p.used = &Head{Tolerance: p.head.Tolerance}, false
	}
	return p.head
}

func (tb *Table) setColumns(text string) {
	tb.bars = strings.Contains(text, "|")
	for _, name := range tb.split(text) {
		tb.Columns = append(tb.Columns, column(name))
	}
}

// column reads "name[unit]".
func column(text string) Column {
	name, unit, _ := strings.Cut(strings.TrimSuffix(text, "]"), "[")
	if unit == "-" || unit == "1" {
		unit = ""
	}
	return Column{name, unit}
}

// words prints the name with blanks for the dashes and underscores between
// words.
func (c Column) words() string { return dash.ReplaceAllString(c.Name, "$1 $2") }

var dash = regexp.MustCompile(`([a-z])[-_]([A-Za-z])`)

func (tb *Table) split(line string) []string {
	if !tb.bars {
		return strings.Fields(line)
	}
	cells := strings.Split(line, "|")
	for i := range cells {
		cells[i] = strings.TrimSpace(cells[i])
	}
	return cells
}

// column returns the index of the named column, or -1.
func (tb *Table) column(name string) int {
	for i, c := range tb.Columns {
		if c.Name == name {
			return i
		}
	}
	return -1
}

// Column reports whether the table has a column of that name.
func (tb *Table) Column(name string) bool { return tb.column(name) >= 0 }

// Text returns the cell of the named column, or "" if the table has none.
func (r Row) Text(name string) string {
	if i := r.table.column(name); i >= 0 {
		return r.Cells[i]
	}
	return ""
}

// Label names the row on the page and in failures: its leading words, or its
// first three numbers with their names.
func (r Row) Label() string {
	var words, numbers []string
	for i, c := range r.Cells {
		_, err := strconv.ParseFloat(c, 64)
		switch {
		case err != nil && len(numbers) == 0:
			words = append(words, c)
		case i < len(r.table.Columns):
			numbers = append(numbers, strings.TrimSpace(r.table.Columns[i].Name+" "+c+" "+r.table.Columns[i].Unit))
		}
		if len(words) == 3 || len(numbers) == 3 {
			break
		}
	}
	if len(words) > 0 {
		return strings.Join(words, ", ")
	}
	return strings.Join(numbers, ", ")
}
