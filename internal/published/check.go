package published

import (
	"fmt"
	"maps"
	"math"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// Read reads a file of testdata/published of the package under test. Every
// row has a cell for each column.
func Read(t testing.TB, file string) *Table {
	t.Helper()
	tb := ReadFree(t, file)
	if tb.Columns == nil {
		t.Fatalf("%s names no columns", file)
	}
	return tb
}

// ReadFree is Read for a file whose lines differ in shape and have no columns.
func ReadFree(t testing.TB, file string) *Table {
	t.Helper()
	tb, err := ReadFile(filepath.ToSlash(filepath.Join("testdata", "published", file)))
	if err != nil {
		t.Fatal(err)
	}
	return tb
}

// Number returns the cell of the named column as a number, NaN for a dash.
func (r Row) Number(t testing.TB, name string) float64 {
	t.Helper()
	i := r.table.column(name)
	if i < 0 {
		t.Fatalf("%s has no column %q", r.table.File, name)
	}
	return r.number(t, i)
}

// Numbers returns all cells from the given one on, counted from 0.
func (r Row) Numbers(t testing.TB, from int) []float64 {
	t.Helper()
	v := make([]float64, len(r.Cells)-from)
	for i := range v {
		v[i] = r.number(t, from+i)
	}
	return v
}

func (r Row) number(t testing.TB, i int) float64 {
	t.Helper()
	return r.parse(t, r.Cells[i])
}

func (r Row) parse(t testing.TB, cell string) float64 {
	t.Helper()
	if cell == "-" {
		return math.NaN()
	}
	x, err := strconv.ParseFloat(cell, 64)
	if err != nil {
		t.Fatalf("%v: %v", r, err)
	}
	return x
}

// String says where the row stands.
func (r Row) String() string {
	return fmt.Sprintf("%s:%d (%s)", r.table.File, r.Line, r.Label())
}

// Limit is how far an answer may lie from the value outside.
type Limit struct {
	tolerance float64
	scale     float64 // what the tolerance is a fraction of; 0: an amount
	relative  bool    // the scale is the value outside
	of        string  // the name of the scale
	atLeast   bool
}

// Within is a tolerance in the unit of the value.
func Within(tolerance float64) Limit { return Limit{tolerance: tolerance} }

// Relative is a tolerance as a fraction of the value.
func Relative(tolerance float64) Limit {
	return Limit{tolerance: tolerance, relative: true, of: "of the value"}
}

// Of is a tolerance as a fraction of scale, which of describes: "of 1000 Pa".
func Of(of string, scale, tolerance float64) Limit {
	return Limit{tolerance: tolerance, scale: scale, of: of}
}

// AtLeast makes the value a lower bound: above it nothing deviates.
func (l Limit) AtLeast() Limit {
	l.atLeast = true
	return l
}

// Check compares got with the number of the named column.
func (r Row) Check(t testing.TB, name string, got float64, l Limit) {
	t.Helper()
	i := r.table.column(name)
	if i < 0 {
		t.Fatalf("%s has no column %q", r.table.File, name)
	}
	r.check(t, r.table.Columns[i], got, r.number(t, i), l)
}

// CheckAs compares got with want, a value of the row. The quantity is written
// as a column is: "torque[N·m]".
func (r Row) CheckAs(t testing.TB, quantity string, got, want float64, l Limit) {
	t.Helper()
	r.check(t, column(quantity), got, want, l)
}

// CheckRange compares got with a range of the row; the deviation is counted
// from its middle.
func (r Row) CheckRange(t testing.TB, quantity string, got, low, high float64) {
	t.Helper()
	r.CheckAs(t, quantity, got, (low+high)/2, Within((high-low)/2))
}

// CheckWord compares a word of the answer with that of the row.
func (r Row) CheckWord(t testing.TB, quantity, got, want string) {
	t.Helper()
	if got != want {
		t.Errorf("%v: %s = %q, want %q", r, quantity, got, want)
	}
	r.record(t, Comparison{What: column(quantity).words(), Word: true})
}

func (r Row) check(t testing.TB, c Column, got, want float64, l Limit) {
	t.Helper()
	x := Comparison{What: c.words(), Unit: c.Unit, Label: r.Label(),
		Got: got, Want: want, Tolerance: l.tolerance, Scale: l.scale, Of: l.of, AtLeast: l.atLeast}
	if l.relative {
		x.Scale = math.Abs(want)
	}
	d, admitted := x.Deviation(), r.admitted(t, x)
	switch {
	case !finite(got) || !finite(want) || !finite(d):
		t.Errorf("%v: %s = %g, want %g", r, x.What, got, want)
		return // a number that is none has no place on the page
	case x.Miss() && !(d <= admitted):
		t.Errorf("%v: %s = %.10g, want %.10g, off by %.3g, tolerance %.3g %s", r, x.What, got, want, d, l.tolerance, l.of)
		if admitted > 0 {
			t.Errorf("the miss %q has grown from %g", x.key(r.table.File), admitted)
		}
	case !x.Miss() && admitted > 0:
		t.Errorf("%v: %s = %.10g is within %.3g of %.10g: take %q off testdata/missed.txt", r, x.What, got, l.tolerance, want, x.key(r.table.File))
	}
	r.record(t, x)
}

// CheckList compares got with the rows of a table with the columns case,
// quantity, value and tolerance; the keys are "case quantity", without unit.
// Of a case that got names, every row must be there. A value may be a range,
// 70..88, with a dash for its tolerance.
func (tb *Table) CheckList(t testing.TB, got map[string]float64) {
	t.Helper()
	left, named := maps.Clone(got), map[string]bool{}
	for key := range got {
		name, _, _ := strings.Cut(key, " ")
		named[name] = true
	}
	for _, r := range tb.Rows {
		key := r.Text("case") + " " + column(r.Text("quantity")).Name
		delete(left, key)
		if x, ok := got[key]; ok {
			r.checkItem(t, x)
		} else if named[r.Text("case")] {
			t.Errorf("%v: nothing to compare", r)
		}
	}
	for key := range left {
		t.Errorf("%s has no row %q", tb.File, key)
	}
}

// checkItem compares x with a row of a list.
func (r Row) checkItem(t testing.TB, x float64) {
	t.Helper()
	low, high, isRange := strings.Cut(r.Text("value"), "..")
	if !isRange {
		r.CheckAs(t, r.Text("quantity"), x, r.Number(t, "value"), Within(r.Number(t, "tolerance")))
		return
	}
	r.CheckRange(t, r.Text("quantity"), x, r.parse(t, low), r.parse(t, high))
}

func finite(x float64) bool { return !math.IsNaN(x) && !math.IsInf(x, 0) }

// Near fails unless got is within tol of want: a comparison with something of
// our own, which the page leaves out.
func Near(t testing.TB, call string, got, want, tol float64) {
	t.Helper()
	if !(math.Abs(got-want) <= tol) {
		t.Errorf("%s = %.10g, want %.10g, off by %.3g, tolerance %.3g", call, got, want, math.Abs(got-want), tol)
	}
}
