//go:build !js

package web

import (
	"bytes"
	"context"
	"fmt"
	"io"
	"net/http"

	"rung/internal/paperwork"
	"rung/internal/visit"
)

// pdf is the address of a PDF, for the page that offers it.
func pdf(address string) string { return address }

// pdfRoutes lists the papers as PDF.
func (s *Server) pdfRoutes() map[string]answer {
	return map[string]answer{
		"GET /properties/{property}/labels.pdf": s.labelsPDF,
		"GET /visits/{visit}/note.pdf":          s.notePDF,
		"GET /visits/{visit}/report.pdf":        s.reportPDF,
		"GET /report/{token}/report.pdf":        s.sharedReportPDF,
	}
}

func (s *Server) labelsPDF(w http.ResponseWriter, r *http.Request) error {
	sheet, labels, _, err := s.chainLabels(r)
	if err != nil {
		return err
	}
	if len(labels) == 0 {
		return &visit.Error{Kind: visit.NotFound, Message: "There are no labels to print here yet."}
	}
	return sendPDF(w, "labels-"+string(sheet.Property.Property), func(out io.Writer) error { return paperwork.ChainLabelsPDF(out, labels, s.Now()) })
}

func (s *Server) notePDF(w http.ResponseWriter, r *http.Request) error {
	here, n, err := s.panelNote(r)
	if err != nil {
		return err
	}
	return sendPDF(w, "note-"+string(here.Visit.Visit), func(out io.Writer) error { return n.PDF(out, here.Visit.Opened.At) })
}

// sendPDF writes a paper as a file to look at or to pass on.
func sendPDF(w http.ResponseWriter, name string, write func(io.Writer) error) error {
	var b bytes.Buffer
	if err := write(&b); err != nil {
		return err
	}
	w.Header().Set("Content-Type", "application/pdf")
	w.Header().Set("Content-Disposition", fmt.Sprintf("inline; filename=%q", name+".pdf"))
	w.Header().Set("Cache-Control", "no-store")
	_, err := w.Write(b.Bytes())
	return err
}

func (s *Server) reportPDF(w http.ResponseWriter, r *http.Request) error {
	here, report, err := s.visitReport(r)
	if err != nil {
		return err
	}
	s.fillPhotos(r.Context(), report.Photos)
	return sendPDF(w, "report-"+string(here.Visit.Visit), func(out io.Writer) error { return report.PDF(out, here.Visit.Opened.At) })
}

func (s *Server) sharedReportPDF(w http.ResponseWriter, r *http.Request) error {
	report, day, err := s.shared(w, r)
	if err != nil {
		return s.noReport(w, r, err)
	}
	s.fillPhotos(r.Context(), report.Photos)
	return sendPDF(w, "visit-report", func(out io.Writer) error { return report.PDF(out, day) })
}

// fillPhotos puts the pictures into the photos of a report. What cannot be had is
// said in the report: it must not fail for a photo.
func (s *Server) fillPhotos(ctx context.Context, photos []paperwork.Photo) {
	for i, x := range photos {
		if x.Address == "" {
			continue
		}
		content, _, err := s.Visits.Picture(ctx, x.Hash)
		if err != nil {
			s.Log.Warn("photo for a paper", "hash", x.Hash, "err", err)
			continue
		}
		photos[i].Content = content
	}
}
