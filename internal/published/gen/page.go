package main

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"rung/internal/source"
)

// intro says what the page can prove and what it cannot.
const intro = `# Validation

<!-- Written by go run ./internal/published/gen; do not edit. -->

Every number of Rung that its tests compare with a number from outside the project. The page is written from the
comparisons the tests make when they run: the same rows, the same tolerances. The rows stand in
testdata/published of each package, with their sources.

How to read it:

- **published** is a publication, named. Most were read through a transcription in open code, not in print; then the
  source says so. **practice** is the trade's custom or the arithmetic of its texts, without a publication.
  **memory** is what a book is believed to say, not seen.
- *Computed* rows come from another program that evaluates the same equations. They show that the arithmetic is right.
  They cannot show that the equations describe the substance or the machine.
- A deviation is the worst of its line, measured by its tolerance; the tolerance beside it is that of the same row.
  Deviations are rounded to two digits; the smallest are bounded by a power of ten, because rounding differs between machines.
- A *miss* is a deviation beyond the tolerance that is known and stands in the tests with its size. Tolerances are not
  widened to swallow misses. A miss that grows, or a new one, fails the tests.
- Where a source gives a range, the deviation is counted from its middle and the tolerance is half its width.
- What has no number outside (symmetries, balances, round trips) is tested too, but is not on this page. Nor are the
  rules of the trade that plant and cycle reproduce in words (which pressure rises, what hums), and the optimal costs of
  the made-up troubleshooting problems that diagnosis is measured against.
`

// page renders the checks.
func page(checks []check) string {
	slices.SortStableFunc(checks, func(a, b check) int {
		return cmp.Or(cmp.Compare(a.pkg, b.pkg), cmp.Compare(a.File, b.File), cmp.Compare(a.Line, b.Line), cmp.Compare(a.What, b.What))
	})
	var b strings.Builder
	b.WriteString(intro)
	summary(&b, checks)
	last := ""
	for _, file := range split(checks, func(c check) string { return c.pkg + "\n" + c.File }) {
		if p := file[0].pkg; p != last {
			fmt.Fprintf(&b, "\n## %s\n", p)
			last = p
		}
		section(&b, file)
	}
	return b.String()
}

// split cuts the checks into runs of one key, in order of first appearance.
func split(checks []check, key func(check) string) [][]check {
	var runs [][]check
	index := map[string]int{}
	for _, c := range checks {
		i, known := index[key(c)]
		if !known {
			i = len(runs)
			index[key(c)] = i
			runs = append(runs, nil)
		}
		runs[i] = append(runs[i], c)
	}
	return runs
}

func summary(b *strings.Builder, checks []check) {
	b.WriteString("\n| Package | Numbers | Published | Practice | Memory | of all, computed | Missed |\n|---|--:|--:|--:|--:|--:|--:|\n")
	line := func(name string, list []check) {
		var computed, missed int
		class := map[source.Class]int{}
		for _, c := range list {
			class[c.class()]++
			if c.row.Computed != "" {
				computed++
			}
			if !c.Word && c.Miss() {
				missed++
			}
		}
		fmt.Fprintf(b, "| %s | %d | %d | %d | %d | %d | %d |\n", name, len(list),
			class[source.Published], class[source.Practice], class[source.Memory], computed, missed)
	}
	for _, p := range split(checks, func(c check) string { return c.pkg }) {
		line(p[0].pkg, p)
	}
	line("**all**", checks)
}

// class is the weakest class of the row's sources.
func (c check) class() source.Class {
	weakest := source.Published
	for _, s := range c.row.Sources {
		if s.Class == source.Memory || weakest == source.Published {
			weakest = s.Class
		}
	}
	return weakest
}

// origin is the text of all that the head says of a row.
func (c check) origin() string {
	var b strings.Builder
	for _, s := range c.row.Sources {
		fmt.Fprintf(&b, "- %s: %s\n", s.Class, s.Ref)
	}
	if c.row.Computed != "" {
		fmt.Fprintf(&b, "- computed: %s\n", c.row.Computed)
	}
	fmt.Fprintf(&b, "- tolerance: %s\n", c.row.Tolerance)
	for _, n := range c.row.Notes {
		fmt.Fprintf(&b, "- note: %s\n", n)
	}
	return b.String()
}

// section renders the checks of one file.
func section(b *strings.Builder, file []check) {
	fmt.Fprintf(b, "\n### %s\n\n`%s`\n", file[0].table.Title, file[0].File)
	if file[0].table.Column("source") {
		quantities(b, file, "", true)
		misses(b, file)
		return
	}
	for _, part := range split(file, check.origin) {
		quantities(b, part, part[0].origin(), false)
	}
	misses(b, file)
}

// quantities tables the checks of one origin by quantity; with sources, each
// line names its own.
func quantities(b *strings.Builder, part []check, origin string, sources bool) {
	key := func(c check) string { return c.What + "\n" + c.Unit + c.Of }
	if sources {
		origin = "- tolerance: " + part[0].row.Tolerance + "\n"
		key = func(c check) string { return c.What + "\n" + c.Unit + c.Of + "\n" + c.row.Sources[0].String() }
	}
	head, rule := "| Quantity | Numbers | Worst deviation | Tolerance there | Missed |", "|---|--:|--:|--:|--:|"
	if sources {
		head, rule = head+" Source |", rule+"---|"
	}
	fmt.Fprintf(b, "\n%s\n%s\n%s\n", origin, head, rule)
	runs := split(part, key)
	slices.SortStableFunc(runs, func(x, y []check) int { return cmp.Compare(x[0].What, y[0].What) })
	for _, run := range runs {
		fmt.Fprintf(b, "| %s | %d | %s |", run[0].What, len(run), verdict(run))
		if sources {
			fmt.Fprintf(b, " %s |", run[0].row.Sources[0])
		}
		b.WriteByte('\n')
	}
}

// verdict is the worst deviation of the checks, its tolerance and how many
// are missed.
func verdict(run []check) string {
	if run[0].Word {
		return "none | the same word | "
	}
	worst, missed := run[0], ""
	n := 0
	for _, c := range run {
		if c.strain() > worst.strain() {
			worst = c
		}
		if c.Miss() {
			n++
		}
	}
	if n > 0 {
		missed = strconv.Itoa(n)
	}
	return worst.deviation() + " | " + worst.tolerance() + " | " + missed
}

// strain is the deviation in tolerances.
func (c check) strain() float64 {
	if d := c.Deviation(); d > 0 {
		return d / c.Tolerance
	}
	return 0
}

// deviation prints to two digits; what is only rounding differs between
// machines and gets the next power of ten as its bound.
func (c check) deviation() string {
	d := c.Deviation()
	size := math.Max(math.Abs(c.Want), math.Abs(c.Scale))
	if c.Scale != 0 {
		size /= math.Abs(c.Scale)
	}
	if d <= 1e-13*size {
		return "rounding"
	}
	if d < 1e-10*size {
		return c.amount("< "+number(math.Pow(10, math.Floor(math.Log10(d))+1), 1), false)
	}
	return c.amount(number(d, 2), false)
}

func (c check) tolerance() string { return c.amount(number(c.Tolerance, 3), true) }

func (c check) amount(n string, whole bool) string {
	switch {
	case c.Of == "" && c.Unit != "":
		return n + " " + c.Unit
	case whole && c.Of != "":
		return n + " " + c.Of
	}
	return n
}

// number prints x to so many digits, 0.0012 plainly and 1.2e-7 by power.
func number(x float64, digits int) string {
	s := strconv.FormatFloat(x, 'g', digits, 64)
	if v, _ := strconv.ParseFloat(s, 64); v != 0 && math.Abs(v) >= 1e-4 && math.Abs(v) < 1e6 {
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	mantissa, power, found := strings.Cut(s, "e")
	if !found {
		return s
	}
	p, _ := strconv.Atoi(power)
	return fmt.Sprintf("%se%d", mantissa, p)
}

// misses tables the checks of a file that miss.
func misses(b *strings.Builder, file []check) {
	var list []check
	for _, c := range file {
		if !c.Word && c.Miss() {
			list = append(list, c)
		}
	}
	if len(list) == 0 {
		return
	}
	fmt.Fprintf(b, "\nMissed, %d of %d:\n\n| Row | Quantity | Outside | Rung | Deviation | Tolerance |\n|---|---|--:|--:|--:|--:|\n", len(list), len(file))
	for _, c := range list {
		fmt.Fprintf(b, "| %s | %s | %s | %s | %s | %s |\n", c.Label, c.What,
			c.outside(), c.ours(), c.signed(), c.tolerance())
	}
}

// ours prints our number with as many decimals as show the deviation to two
// digits.
func (c check) ours() string {
	decimals := max(0, 1-int(math.Floor(math.Log10(math.Abs(c.Got-c.Want)))))
	return strings.TrimSpace(strconv.FormatFloat(c.Got, 'f', decimals, 64) + " " + c.Unit)
}

// outside prints the number outside as its row has it.
func (c check) outside() string {
	return strings.TrimSpace(strconv.FormatFloat(c.Want, 'g', -1, 64) + " " + c.Unit)
}

// signed is the deviation with the side on which the answer lies.
func (c check) signed() string {
	if c.Got < c.Want {
		return "−" + c.deviation()
	}
	return "+" + c.deviation()
}
