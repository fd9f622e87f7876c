package picture

import (
	"bytes"
	"encoding/binary"
)

// Markers of JPEG.
//
// published: ITU-T T.81, table B.1.
const (
	soi  = 0xd8
	eoi  = 0xd9
	sos  = 0xda
	dqt  = 0xdb
	dht  = 0xc4
	dac  = 0xcc
	dri  = 0xdd
	dnl  = 0xdc
	rst0 = 0xd0
	rst7 = 0xd7
	app0 = 0xe0
	app1 = 0xe1
	app2 = 0xe2
	appE = 0xee // Adobe: whether colours are transformed
)

const exifHead = "Exif\x00\x00"

// cleanJPEG copies the parts of a JPEG that make its picture.
func (p *Picture) cleanJPEG(b []byte) error {
	var head, rest []byte // rest is what comes after the block that says which way up
	for at := 2; ; {
		marker, part, next, err := segment(b, at)
		if err != nil {
			return err
		}
		at = next
		switch {
		case marker == eoi:
			if p.Width == 0 {
				return damaged("it ends before the picture")
			}
			p.Bytes = append([]byte{0xff, soi}, head...)
			if p.Turned != 1 {
				p.Bytes = appendSegment(p.Bytes, app1, append([]byte(exifHead), turnedTIFF(p.Turned)...))
			}
			p.Bytes = append(append(p.Bytes, rest...), 0xff, eoi)
			return nil // what lies behind is no part of the picture
		case marker == app1:
			if tiff, is := bytes.CutPrefix(part, []byte(exifHead)); is && p.Turned == 1 {
				p.Turned = orientation(tiff)
			}
		case marker == app0 && rest == nil:
			if bytes.HasPrefix(part, []byte("JFIF\x00")) && len(part) >= 14 {
				head = appendSegment(nil, app0, withoutThumbnail(part))
			}
		case isFrame(marker):
			if len(part) < 6 {
				return damaged("its frame is short")
			}
			p.Height, p.Width = int(binary.BigEndian.Uint16(part[1:])), int(binary.BigEndian.Uint16(part[3:]))
			rest = appendSegment(rest, marker, part)
		case marker == sos:
			rest = appendSegment(rest, marker, part)
			end := scanEnd(b, at)
			rest = append(rest, b[at:end]...)
			at = end
		case makesPicture(marker, part):
			rest = appendSegment(rest, marker, part)
		}
	}
}

// withoutThumbnail is the part of JFIF without the small picture that may stand
// in it.
//
// published: ITU-T T.871, 10.1: identifier, version, units, densities, then width
// and height of the thumbnail.
func withoutThumbnail(part []byte) []byte {
	short := bytes.Clone(part[:14])
	short[12], short[13] = 0, 0
	return short
}

// isFrame reports whether a marker begins a frame: SOF0 to SOF15 without the
// tables that have numbers among them.
func isFrame(marker byte) bool {
	return marker >= 0xc0 && marker <= 0xcf && marker != dht && marker != 0xc8 && marker != dac
}

// makesPicture reports whether a part is needed to draw the picture: tables, the
// colour profile, and how colours are transformed.
func makesPicture(marker byte, part []byte) bool {
	switch marker {
	case dqt, dht, dac, dri, dnl:
		return true
	case app2: // which also holds lists of further pictures in the file
		return bytes.HasPrefix(part, []byte("ICC_PROFILE\x00"))
	case appE:
		return bytes.HasPrefix(part, []byte("Adobe")) && len(part) == 12
	}
	return false
}

// segment reads the marker at a place, after any filling bytes, and what belongs
// to it, without the length.
func segment(b []byte, at int) (marker byte, part []byte, next int, err error) {
	if at >= len(b) || b[at] != 0xff {
		return 0, nil, 0, damaged("no marker at byte %d", at)
	}
	for at < len(b) && b[at] == 0xff {
		at++
	}
	if at >= len(b) {
		return 0, nil, 0, damaged("it ends in a marker")
	}
	marker = b[at]
	at++
	if marker == eoi {
		return marker, nil, at, nil
	}
	if marker == 0 || marker == soi || marker >= rst0 && marker <= rst7 || marker == 1 {
		return 0, nil, 0, damaged("marker %02x where none may stand", marker)
	}
	if at+2 > len(b) {
		return 0, nil, 0, damaged("it ends in a marker")
	}
	n := int(binary.BigEndian.Uint16(b[at:]))
	if n < 2 || at+n > len(b) {
		return 0, nil, 0, damaged("part %02x is longer than the file", marker)
	}
	return marker, b[at+2 : at+n], at + n, nil
}

// scanEnd returns where the coded picture that begins at a place ends: at the
// next marker that is neither a restart nor a byte of the picture itself.
func scanEnd(b []byte, at int) int {
	for ; at+1 < len(b); at++ {
		if b[at] != 0xff {
			continue
		}
		if m := b[at+1]; m != 0 && m != 0xff && (m < rst0 || m > rst7) {
			return at
		}
	}
	return len(b)
}

// appendSegment writes a part with its marker and length. Parts were read with a
// length of 16 bits, so they have one.
func appendSegment(to []byte, marker byte, part []byte) []byte {
	to = append(to, 0xff, marker)
	to = binary.BigEndian.AppendUint16(to, uint16(len(part)+2))
	return append(to, part...)
}
