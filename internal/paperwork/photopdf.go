//go:build !js

package paperwork

import (
	"bytes"

	"codeberg.org/go-pdf/fpdf"

	"rung/internal/picture"
)

// The photos of a report, in mm: two beside each other, so that a plate can be
// read and eight fit on a page.
const (
	photoGap  = 6
	photoHigh = 62 // at most
	photoLine = 5  // of the words below
)

// photos writes photos two by two, each with its words. One that is not here, or
// that a PDF cannot hold, is said in words.
func (s sheet) photos(list []Photo) {
	if len(list) == 0 {
		return
	}
	s.Ln(3)
	s.heading(13, "Photos")
	wide := (s.wide - photoGap) / 2
	left, _, _, bottom := s.GetMargins()
	_, page := s.GetPageSize()
	for i := 0; i < len(list); i += 2 {
		row := list[i:min(i+2, len(list))]
		if s.GetY()+photoHigh+3*photoLine > page-bottom {
			s.AddPage()
		}
		top, low := s.GetY()+1, s.GetY()
		for k, x := range row {
			at := left + float64(k)*(wide+photoGap)
			y := top + s.photo(x, at, top, wide) + 1
			s.SetXY(at, y)
			s.SetFont("Helvetica", "", 10)
			s.MultiCell(wide, photoLine, s.latin(photoWords(x)), "", "L", false)
			low = max(low, s.GetY())
		}
		s.SetXY(left, low+2)
	}
}

// photoWords is what stands below a photo.
func photoWords(x Photo) string {
	switch {
	case x.Content == nil:
		return x.Name + " (this photo has not arrived yet)"
	case !drawable(x):
		return x.Name + " (see the page of this report: a PDF cannot hold a photo of this kind)"
	}
	return x.Name
}

// kinds are the sorts of picture that a PDF holds.
var kinds = map[string]string{picture.JPEG: "JPG", picture.PNG: "PNG"}

// drawable reports whether a PDF can hold a photo. It is tried on a sheet of its
// own, for what fails on one spoils it.
func drawable(x Photo) bool {
	if kinds[picture.Type(x.Content)] == "" {
		return false
	}
	try := fpdf.New("P", "mm", "A4", "")
	try.RegisterImageOptionsReader("x", fpdf.ImageOptions{ImageType: kinds[picture.Type(x.Content)]}, bytes.NewReader(x.Content))
	return try.Ok()
}

// photo draws a photo with its upper left corner at x, y, and returns how high it
// is.
func (s sheet) photo(p Photo, x, y, wide float64) float64 {
	if p.Content == nil || !drawable(p) {
		return 0
	}
	clean, err := picture.Clean(p.Content)
	if err != nil {
		return 0
	}
	// As it is shown, and as it lies in the file.
	w, h := wide, wide*float64(clean.Height)/float64(clean.Width)
	if h > photoHigh {
		w, h = w*photoHigh/h, photoHigh
	}
	fileW, fileH := w, h
	if clean.Turned >= 5 {
		fileW, fileH = h, w
	}
	s.RegisterImageOptionsReader(string(p.Hash), fpdf.ImageOptions{ImageType: kinds[clean.Type]}, bytes.NewReader(p.Content))
	s.TransformBegin()
	midX, midY := x+w/2, y+h/2
	s.TransformRotate(turns[clean.Turned], midX, midY)
	s.ImageOptions(string(p.Hash), midX-fileW/2, midY-fileH/2, fileW, fileH, false, fpdf.ImageOptions{}, 0, "")
	s.TransformEnd()
	return h
}

// turns is by how many degrees, against the clock, a picture of each orientation
// is turned to stand upright. The mirrored ones, which no camera makes, are only
// turned.
//
// published: Exif 2.3 (CIPA DC-008-2012), 4.6.4 A, tag 274.
var turns = [9]float64{3: 180, 4: 180, 5: -90, 6: -90, 7: 90, 8: 90}
