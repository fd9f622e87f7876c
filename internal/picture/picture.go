// Package picture takes everything out of a photo that is not to be seen in it:
// where it was taken, with which phone, by whom, a smaller copy of how it was
// before it was cut.
//
// It knows JPEG, PNG and WebP by their content, whatever a name or a browser
// says, and goes through the parts of the file without touching the picture
// itself: not one point of it changes. Only the parts that a picture is made of
// stay; all others are left out, known or not. What a camera puts behind the
// picture, such as a second one or a short film, is left out too. Of Exif one
// thing stays, in a block of our own: which way up the picture is.
//
// The picture itself is not decoded: a file that is damaged inside of it passes,
// and is shown by the browser as far as it can.
package picture

import (
	"bytes"
	"errors"
	"fmt"
)

// The media types of the pictures that are taken.
const (
	JPEG = "image/jpeg"
	PNG  = "image/png"
	WebP = "image/webp"
)

// Limits of a picture in points.
//
// practice: a phone makes 50 million at most; a picture that unpacks to more may
// end the browser that shows it.
const (
	MaxSide   = 20_000
	MaxPoints = 120_000_000
)

// Errors of Clean.
var (
	ErrType    = errors.New("not a JPEG, PNG or WebP picture")
	ErrDamaged = errors.New("the picture is damaged or cut short")
	ErrMoving  = errors.New("a moving picture, of which only still ones are taken")
	ErrPoints  = errors.New("the picture has more points than a page can show")
)

// Picture is a photo without anything beside it.
type Picture struct {
	Type          string // media type
	Bytes         []byte
	Width, Height int // in points, as it is shown, which way up it is
	Turned        int // orientation as in Exif, 1 to 8; 1 is as stored
}

// Type returns the media type that the content is of, or "".
//
// published: WHATWG MIME Sniffing, section 6.1, "Matching an image type pattern".
func Type(b []byte) string {
	switch {
	case bytes.HasPrefix(b, []byte("\xff\xd8\xff")):
		return JPEG
	case bytes.HasPrefix(b, []byte(pngHead)):
		return PNG
	case len(b) >= 14 && string(b[:4]) == "RIFF" && string(b[8:14]) == "WEBPVP":
		return WebP
	}
	return ""
}

// Clean returns the picture in b without all that is beside it. Its errors wrap
// one of ErrType, ErrDamaged, ErrMoving, ErrPoints. Cleaning what is clean
// returns the same bytes.
func Clean(b []byte) (Picture, error) {
	p := Picture{Type: Type(b), Turned: 1}
	var err error
	switch p.Type {
	case JPEG:
		err = p.cleanJPEG(b)
	case PNG:
		err = p.cleanPNG(b)
	case WebP:
		err = p.cleanWebP(b)
	default:
		return Picture{}, ErrType
	}
	if err != nil {
		return Picture{}, err
	}
	if p.Width < 1 || p.Height < 1 {
		return Picture{}, fmt.Errorf("%w: it has no size", ErrDamaged)
	}
	if p.Width > MaxSide || p.Height > MaxSide || p.Width*p.Height > MaxPoints {
		return Picture{}, fmt.Errorf("%w: %d by %d", ErrPoints, p.Width, p.Height)
	}
	if p.Turned >= 5 { // lies on its side
		p.Width, p.Height = p.Height, p.Width
	}
	return p, nil
}

// damaged is an ErrDamaged with what is wrong.
func damaged(format string, args ...any) error {
	return fmt.Errorf("%w: %s", ErrDamaged, fmt.Sprintf(format, args...))
}
