package web

import (
	"fmt"
	"net/http"
	"strings"
	"time"

	"rung/internal/paperwork"
	"rung/internal/record"
	"rung/internal/visit"
	"rung/internal/web/page"
)

// chainLabels gathers a label for every place of every chain, and says which
// are left out: a label that will be wrong once a swap is mended is worse than
// none.
func (s *Server) chainLabels(r *http.Request) (visit.ChainSheet, []paperwork.ChainLabel, []string, error) {
	sheet, err := s.Visits.Chain(r.Context(), record.PropertyID(r.PathValue("property")))
	if err != nil {
		return sheet, nil, nil, err
	}
	var labels []paperwork.ChainLabel
	var leftOut []string
	for _, line := range sheet.Systems {
		var blank []string
		known := 0
		for _, l := range line.Links {
			if l.Swapped || l.Shared {
				blank = append(blank, strings.ToLower(l.Link.Name))
			}
			if l.State != visit.LinkUnknown {
				known++
			}
		}
		switch {
		case len(blank) > 0:
			leftOut = append(leftOut, fmt.Sprintf("No labels for %s: whose %s it is has to be settled first.", line.System.Title(), strings.Join(blank, " and ")))
		case known == 0:
			leftOut = append(leftOut, fmt.Sprintf("No labels for %s: nothing of its chain is known yet.", line.System.Title()))
		default:
			labels = append(labels, s.labelsOf(r, sheet, line)...)
		}
	}
	return sheet, labels, leftOut, nil
}

// labelsOf returns the labels of a system: one for the thermostat and one for
// each link known.
func (s *Server) labelsOf(r *http.Request, sheet visit.ChainSheet, line visit.ChainLine) []paperwork.ChainLabel {
	label := paperwork.ChainLabel{
		System: line.System.Title(), Property: sheet.Property.Name, Day: s.Now().In(s.Zone).Format(time.DateOnly), By: strings.Join(present(s.Author(r), s.Phone), ", "),
	}
	if line.Thermostat != "" {
		label.Chain = append(label.Chain, paperwork.Reading{Name: "Thermostat", Value: line.Thermostat})
	}
	for _, l := range line.Links {
		doubt := ""
		if l.State == visit.LinkLabel {
			doubt = "not proved"
		}
		label.Chain = append(label.Chain, paperwork.Reading{Name: l.Link.Name, Value: orNone(l.Place), Doubt: doubt})
	}
	var list []paperwork.ChainLabel
	for _, x := range label.Chain {
		if x.Value == orNone("") {
			continue
		}
		label.Here = x.Name + ": " + x.Value
		list = append(list, label)
	}
	return list
}

func (s *Server) labels(w http.ResponseWriter, r *http.Request) error {
	sheet, labels, leftOut, err := s.chainLabels(r)
	if err != nil {
		return err
	}
	p := sheet.Property
	view := page.LabelsPage{Shell: page.Shell{Title: "Labels", Place: p.Name, Back: page.Link{Text: "What serves what", Href: chainPath(p.Property)}}, Labels: labels, LeftOut: leftOut}
	if len(labels) > 0 {
		view.PDF = pdf(propertyPath(p.Property) + "/labels.pdf")
	}
	return s.render(w, r, http.StatusOK, page.Labels(view))
}
