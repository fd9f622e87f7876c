package paperwork

import (
	"io"
	"time"
)

// ChainLabel is the label for one place of a system's chain: the thermostat, a
// unit, the disconnect or the breaker. It names the whole chain, so that each
// place tells where the others are.
type ChainLabel struct {
	System   string    // "2 upstairs"
	Here     string    // where it is put: "Disconnect: A"
	Chain    []Reading // the links by name, with a doubt where one is not proved
	Day      string    // 2026-07-14
	By       string    // who, and where to reach them
	Property string
}

// Foot is the last line of the label.
func (l ChainLabel) Foot() string { return l.Property + " · " + l.Day + " · " + l.By }

// The label of a chain, in mm.
const chainLabelWide, chainLabelHigh, chainLabelMargin = 100, 62, 4

// ChainLabelsPDF writes the labels, each a page of 100 by 62 mm, for a label
// printer or for a pair of scissors.
func ChainLabelsPDF(w io.Writer, labels []ChainLabel, made time.Time) error {
	title := "Labels"
	if len(labels) > 0 {
		title += " " + labels[0].Property
	}
	s := newSheet(chainLabelWide, chainLabelHigh, chainLabelMargin, title, made)
	for i, l := range labels {
		if i > 0 {
			s.AddPage()
		}
		s.heading(16, l.System)
		s.heading(12, l.Here)
		s.Ln(1)
		for _, x := range l.Chain {
			s.pair(9, x.Name, x.String())
		}
		s.Ln(1)
		s.paragraph(8, l.Foot())
	}
	return s.write(w)
}
