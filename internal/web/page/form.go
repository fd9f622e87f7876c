package page

import (
	"strconv"
	"strings"

	"github.com/a-h/templ"
)

// MostLetters is the longest text that a field takes.
//
// practice: a page of handwriting; what is longer is not read on a roof.
const MostLetters = 4000

// Choice is one of a closed list of answers.
type Choice struct {
	Value string
	Label string
}

// Field is one question of a form. Value and Unit come back as typed when the
// form was refused, with Error saying what is wrong and what to do.
type Field struct {
	Name    string
	Label   string
	Hint    string
	Value   string
	Error   string
	Kind    Kind
	Unit    string   // the unit of the meter or plate; empty if none
	Units   []string // the units to choose from; the form sends Name-unit
	Choices []Choice // of Choose and Pick
	Assumed string   // what is assumed if left empty
	Needed  bool
	Signed  bool   // of a Number: may be below zero
	Send    string // what a ticked Tick sends; "yes" if empty
	Long    bool   // of a Story: longer than MostLetters
	Known   string // how a browser's memory calls it: "username", "current-password"; empty: it has none
	Suffix  string // makes the ids differ where two forms of a page have a field of the same name
}

// Kind says how a field is answered.
type Kind int

// The kinds of field.
const (
	Words  Kind = iota // one line of text
	Story              // several lines of text
	Number             // number pad
	Choose             // big buttons, one of a few
	Pick               // a list, one of many
	Tick               // yes or no
	Date               // a day
	Secret             // a password: never shown again, never kept
)

// ID is the identifier of the input in the page.
func (f Field) ID() string { return "f-" + f.Name + f.Suffix }

// Chosen returns the value to be marked among the choices.
func (f Field) Chosen(c Choice) bool { return f.Value == c.Value }

// attributes ties the input to the words that explain it.
func (f Field) attributes() templ.Attributes {
	var ids []string
	if f.Error != "" {
		ids = append(ids, f.ID()+"-error")
	}
	if f.Hint != "" {
		ids = append(ids, f.ID()+"-hint")
	}
	if f.Assumed != "" {
		ids = append(ids, f.ID()+"-assumed")
	}
	a := templ.Attributes{}
	if (f.Kind == Words || f.Kind == Story) && !f.Long {
		a["maxlength"] = strconv.Itoa(MostLetters)
	}
	if len(ids) > 0 {
		a["aria-describedby"] = strings.Join(ids, " ")
	}
	if f.Error != "" && f.Kind != Choose {
		a["aria-invalid"] = "true"
	}
	if f.Signed {
		a["data-signed"] = ""
	}
	if f.Needed && f.Kind != Choose && f.Kind != Tick {
		a["aria-required"] = "true"
	}
	return a
}

// autocomplete is what a browser may fill in by itself.
func (f Field) autocomplete() string {
	if f.Known == "" {
		return "off"
	}
	return f.Known
}

// UnitChoices returns the units to choose from, the present one included.
func (f Field) UnitChoices() []string {
	for _, u := range f.Units {
		if u == f.Unit {
			return f.Units
		}
	}
	if f.Unit == "" {
		return f.Units
	}
	return append([]string{f.Unit}, f.Units...)
}

// FieldSet is a group of fields under one heading.
type FieldSet struct {
	Heading string
	Intro   string
	Fields  []Field
	Folded  bool // shown closed; opens by a tap
}

// Open says whether the group is shown open: always if something is wrong in it.
func (s FieldSet) Open() bool {
	for _, f := range s.Fields {
		if f.Error != "" {
			return true
		}
	}
	return !s.Folded
}

// FormPage is a page that asks questions and sends the answers to Action.
type FormPage struct {
	Shell
	Intro    string
	Cautions []string
	Wrong    string // what is wrong with the form as a whole
	Sets     []FieldSet
	Hidden   []Hidden
	Action   string
	Submit   string
	Cancel   Link
	After    *Taps // a second, smaller form below
}

// keeps says whether what is typed may be kept on the device until it is sent.
func (p FormPage) keeps() bool {
	for _, s := range p.Sets {
		for _, f := range s.Fields {
			if f.Kind == Secret {
				return false
			}
		}
	}
	return true
}

// Taps is a form in which each choice sends it.
type Taps struct {
	Heading string
	Intro   string
	Action  string
	Name    string
	Hidden  []Hidden
	Choices []Choice
}

// Hidden is a value that a form carries without showing it.
type Hidden struct{ Name, Value string }

// Mistakes lists the fields that were refused, for the summary at the top.
func (p FormPage) Mistakes() []Field {
	var list []Field
	for _, s := range p.Sets {
		for _, f := range s.Fields {
			if f.Error != "" {
				list = append(list, f)
			}
		}
	}
	return list
}

// sends is what a ticked field sends.
func (f Field) sends() string {
	if f.Send == "" {
		return "yes"
	}
	return f.Send
}

// choiceLabel returns the label of the chosen answer of f.
func choiceLabel(f Field) string {
	for _, c := range f.Choices {
		if f.Chosen(c) {
			return c.Label
		}
	}
	return ""
}

func orDash(s string) string {
	if s == "" {
		return "–"
	}
	return s
}
