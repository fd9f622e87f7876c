package page

// UnitSwitch leads to the same page in the other units.
type UnitSwitch []Tab

// CalculatorsPage lists the calculators by subject.
type CalculatorsPage struct {
	Shell
	Switch UnitSwitch
	Lists  []LinkList
}

// CalculatorPage is a calculator: its form, and its result once it is filled in.
// The form is sent by GET, so that a filled calculator is a link.
type CalculatorPage struct {
	Shell
	Switch   UnitSwitch
	About    string
	Source   string
	Cautions []string
	Wrong    string // what is wrong with the form as a whole
	Sets     []FieldSet
	Hidden   []Hidden
	Action   string
	Try      Link // the page filled with an example
	Result   *Result
}

// Mistakes lists the fields that were refused, for the summary at the top.
func (p CalculatorPage) Mistakes() []Field { return FormPage{Sets: p.Sets}.Mistakes() }

// Result is what a calculator answers.
type Result struct {
	Headline    string // when and where
	Warnings    []string
	Notes       []string
	Facts       []Fact
	Tables      []Table
	Drawing     string // SVG
	DrawingHref string
	Document    string // the answer of a calculator of whole documents
	Given       []Fact // what it was worked out from, for paper
}

// Table is a result of many rows.
type Table struct {
	Columns []Column
	Blocks  [][]Row // rows in pieces that stand side by side on paper
	Cards   []Card  // instead of rows, where there are too many columns for a phone
}

// Column heads one column of a table.
type Column struct {
	Name, Unit, About string
}

// Row is the cells of one row of a table.
type Row []string

// Card is one row of a wide table.
type Card struct {
	Heading string
	Facts   []Fact
}
