//go:build !js

package paperwork

import (
	"io"
	"time"
)

// The label of a chain, in mm.
const chainLabelWide, chainLabelHigh, chainLabelMargin = 100, 62, 4

// ChainLabelsPDF writes the labels, each a page of 100 by 62 mm, for a label
// printer or for a pair of scissors. Long words are written smaller; what does
// not fit then goes on to another page.
func ChainLabelsPDF(w io.Writer, labels []ChainLabel, made time.Time) error {
	title := "Labels"
	if len(labels) > 0 {
		title += " " + labels[0].Property
	}
	start := func() sheet { return newSheet(chainLabelWide, chainLabelHigh, chainLabelMargin, title, made) }
	s := start()
	for i, l := range labels {
		if i > 0 {
			s.AddPage()
		}
		size := 12.0 // points: read at arm's length
		for ; size > 6; size-- {
			trial := start()
			if l.writeOn(trial, size); trial.PageNo() == 1 {
				break
			}
		}
		l.writeOn(s, size)
	}
	return s.write(w)
}

// writeOn writes the words of the label in letters of a size.
func (l ChainLabel) writeOn(s sheet, size float64) {
	s.heading(size+7, l.System)
	s.heading(size+3, l.Here)
	s.Ln(1)
	for _, x := range l.Chain {
		s.pair(size, x.Name, x.String())
	}
	s.Ln(1)
	s.paragraph(size-1, l.Foot())
}
