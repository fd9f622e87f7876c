//go:build !js

package paperwork

import (
	"fmt"
	"io"
	"strings"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// sheet is a PDF being written, with the few habits of our papers.
type sheet struct {
	*fpdf.Fpdf
	latin func(string) string
	wide  float64 // between the margins, mm
}

// newSheet starts a PDF of w by h mm. The same data makes the same bytes: made
// is the time written into the file.
func newSheet(w, h, margin float64, title string, made time.Time) sheet {
	pdf := fpdf.NewCustom(&fpdf.InitType{UnitStr: "mm", Size: fpdf.SizeType{Wd: w, Ht: h}})
	pdf.SetCreationDate(made)
	pdf.SetModificationDate(made)
	pdf.SetCatalogSort(true)
	pdf.SetTitle(title, true)
	pdf.SetLang("en")
	pdf.SetMargins(margin, margin, margin)
	pdf.SetAutoPageBreak(true, margin)
	pdf.AddPage()
	return sheet{pdf, latin(pdf.UnicodeTranslatorFromDescriptor("")), w - 2*margin}
}

// latin prepares text for the built-in fonts, which hold the letters of
// Windows-1252 only: signs outside it are written in words.
func latin(toCP1252 func(string) string) func(string) string {
	words := strings.NewReplacer("Ω", " ohm", "≥", "at least ", "≤", "at most ", "→", " - ", "✓", "+", "✗", "x", "○", "o", "−", "-", "\u00a0", " ", "\u202f", " ", "μ", "µ", "⚠", "!")
	return func(s string) string { return toCP1252(words.Replace(s)) }
}

func (s sheet) heading(size float64, text string) {
	s.SetFont("Helvetica", "B", size)
	s.MultiCell(s.wide, size*0.5, s.latin(text), "", "L", false)
}

func (s sheet) paragraph(size float64, text string) {
	s.SetFont("Helvetica", "", size)
	s.MultiCell(s.wide, size*0.46, s.latin(text), "", "L", false)
}

// pair writes a name and what it is, side by side; an empty value writes nothing.
func (s sheet) pair(size float64, name, value string) {
	if value == "" {
		return
	}
	const share = 0.3 // of the width, for the name
	s.SetFont("Helvetica", "", size)
	x, y := s.GetXY()
	s.MultiCell(s.wide*share, size*0.46, s.latin(name), "", "L", false)
	left := s.GetY()
	s.SetXY(x+s.wide*share, y)
	s.SetFont("Helvetica", "B", size)
	s.MultiCell(s.wide*(1-share), size*0.46, s.latin(value), "", "L", false)
	s.SetY(max(left, s.GetY()))
}

func (s sheet) list(size float64, items []string) {
	for _, item := range items {
		s.paragraph(size, "• "+item)
	}
}

func (s sheet) write(w io.Writer) error {
	if err := s.Output(w); err != nil {
		return fmt.Errorf("paperwork: write pdf: %w", err)
	}
	return nil
}

// symbol draws a QR symbol of the given width with its upper left corner at x, y.
func (s sheet) symbol(q Symbol, x, y, width float64) {
	module := width / float64(q.Size())
	s.SetFillColor(0, 0, 0)
	q.runs(func(col, row, length int) {
		s.Rect(x+float64(col)*module, y+float64(row)*module, float64(length)*module, module, "F")
	})
}

// The label of a note, in mm.
const (
	labelWide, labelHigh, labelMargin = 100, 150, 5
	labelCode                         = 40 // side of the symbol
)

// PDF writes the note as a label of 100 by 150 mm, for a label printer or for a
// pair of scissors. Readings that leave no room for the code are counted.
func (n Note) PDF(w io.Writer, made time.Time) error {
	q, err := n.Symbol()
	if err != nil {
		return err
	}
	s := n.label(made, 0)
	left := 0
	for ; s.full() && left < len(n.Readings); left++ {
		s = n.label(made, left+1)
	}
	if s.full() {
		s.AddPage()
	}
	s.symbol(q, labelMargin, s.GetY()+1, labelCode)
	return s.write(w)
}

// full says whether the code has no room below what is written.
func (s sheet) full() bool {
	return s.PageNo() > 1 || s.GetY()+1+labelCode > labelHigh-labelMargin
}

// label writes the words of the note, without so many of its last readings.
func (n Note) label(made time.Time, without int) sheet {
	s := newSheet(labelWide, labelHigh, labelMargin, "Panel note "+n.Unit, made)
	s.heading(12, n.Unit)
	s.paragraph(9, n.Day+" · "+n.By)
	s.Ln(1)
	s.heading(11, n.Headline())
	s.Ln(1)
	s.pair(9, "Refrigerant", n.Charge)
	s.pair(9, "Added", n.Added)
	for _, r := range n.Readings[:len(n.Readings)-without] {
		s.pair(9, r.Name, r.String())
	}
	if without > 0 {
		s.pair(9, "More readings", fmt.Sprintf("%d, in the report", without))
	}
	if len(n.Unjudged) > 0 {
		s.pair(9, "Charge", "not judged, because "+strings.Join(n.Unjudged, "; "))
	}
	s.pair(9, "To be done", n.Todo)
	s.pair(9, "Filter", n.Filter)
	s.pair(9, "Next visit", n.Due)
	return s
}

// PDF writes the report on letter paper.
func (r Report) PDF(w io.Writer, made time.Time) error {
	s := newSheet(215.9, 279.4, 18, "Visit report "+r.Property+" "+r.Day, made)
	s.heading(18, r.title())
	s.paragraph(11, strings.Join(nonEmpty(r.Shop, r.Phone), " · "))
	s.Ln(2)
	for _, p := range r.head() {
		s.pair(11, p[0], p[1])
	}
	for _, part := range r.parts() {
		if len(part.lines) == 0 {
			continue
		}
		s.Ln(3)
		s.heading(13, part.name)
		s.list(11, part.lines)
	}
	s.photos(r.Photos)
	return s.write(w)
}

func (r Report) title() string {
	if r.Open {
		return "Visit report (draft: the visit is still open)"
	}
	return "Visit report"
}

func (r Report) head() [][2]string {
	return [][2]string{{"Property", r.Property}, {"System", r.System}, {"Day", r.Day}, {"By", r.By}, {"Conditions", r.Surroundings}}
}

// part is a titled list of the report.
type part struct {
	name  string
	lines []string
}

// parts returns the body of the report in reading order.
func (r Report) parts() []part {
	var done, proof, readings []string
	for _, d := range r.Done {
		done = append(done, d.String())
	}
	for _, p := range r.Proof {
		proof = append(proof, p.String())
	}
	for _, x := range r.Readings {
		readings = append(readings, x.Name+": "+x.String())
	}
	unjudged := r.Unjudged
	if r.Todo != "" {
		unjudged = append(unjudged[:len(unjudged):len(unjudged)], "To be done: "+r.Todo)
	}
	return []part{
		{"What you told us", nonEmpty(r.Said)}, {"What we found", r.Found}, {"What we did", done},
		{"How we know it works", append(proof, r.Limits...)}, {"Refrigerant charge: not judged, because", unjudged},
		{"Safety", r.Safety}, {"What we recommend", r.Advice}, {"Readings", readings},
		{"Where the records differ", r.Differ},
	}
}
