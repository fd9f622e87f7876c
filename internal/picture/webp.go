package picture

import (
	"bytes"
	"encoding/binary"
)

// Flags in the first byte of the chunk VP8X.
//
// published: RFC 9649, section 2.7, figure 7.
const (
	webpICC       = 0x20
	webpAlpha     = 0x10
	webpExif      = 0x08
	webpAnimation = 0x02
)

// cleanWebP copies the chunks of a WebP that make its picture.
//
// published: RFC 9649, section 2: a RIFF file of chunks, each padded to an even
// length.
func (p *Picture) cleanWebP(b []byte) error {
	end := 8 + uint64(binary.LittleEndian.Uint32(b[4:]))
	if end > uint64(len(b)) {
		return damaged("it is cut short")
	}
	b = b[:end]
	var extended, icc, alpha, image []byte // whole chunks
	for at := uint64(12); at < end; {
		if at+8 > end {
			return damaged("it ends in a part")
		}
		n := uint64(binary.LittleEndian.Uint32(b[at+4:]))
		if at+8+n > end {
			return damaged("part %q is longer than the file", b[at:at+4])
		}
		name, data := string(b[at:at+4]), b[at+8:at+8+n]
		at += 8 + n + n%2
		switch name {
		case "VP8X":
			if extended != nil || n != 10 {
				return damaged("its header is of another length")
			}
			if data[0]&webpAnimation != 0 {
				return ErrMoving
			}
			extended = data
			p.Width, p.Height = 1+uint24(data[4:]), 1+uint24(data[7:])
		case "ANIM", "ANMF":
			return ErrMoving
		case "ICCP":
			icc = appendRIFF(nil, name, data)
		case "ALPH":
			alpha = appendRIFF(nil, name, data)
		case "EXIF":
			p.Turned = orientation(bytes.TrimPrefix(data, []byte(exifHead)))
		case "VP8 ", "VP8L":
			if image != nil {
				return damaged("it holds two pictures")
			}
			w, h, err := webpSize(name, data)
			if err != nil {
				return err
			}
			if extended == nil {
				p.Width, p.Height = w, h
			}
			image = appendRIFF(nil, name, data)
		}
	}
	if image == nil {
		return damaged("it ends before the picture")
	}
	p.Bytes = p.webp(extended, icc, alpha, image)
	return nil
}

// webp puts the chunks of a file together, those of the extended form where one
// is needed.
func (p *Picture) webp(extended, icc, alpha, image []byte) []byte {
	body := []byte("WEBP")
	if extended == nil && p.Turned == 1 {
		return appendRIFF(nil, "RIFF", append(body, image...))
	}
	flags := byte(0)
	if extended != nil {
		flags = extended[0] & webpAlpha
	}
	if icc != nil {
		flags |= webpICC
	}
	if p.Turned != 1 {
		flags |= webpExif
	}
	w, h := p.Width-1, p.Height-1
	body = appendRIFF(body, "VP8X", []byte{flags, 0, 0, 0, byte(w), byte(w >> 8), byte(w >> 16), byte(h), byte(h >> 8), byte(h >> 16)})
	body = append(append(append(body, icc...), alpha...), image...)
	if p.Turned != 1 {
		body = appendRIFF(body, "EXIF", turnedTIFF(p.Turned))
	}
	return appendRIFF(nil, "RIFF", body)
}

// webpSize reads the size of a picture out of its own header.
//
// published: RFC 6386, section 9.1, of VP8: start code, then 14 bits each; RFC
// 9649, section 3.4, of VP8L: 14 bits each, less one.
func webpSize(name string, data []byte) (width, height int, err error) {
	switch {
	case name == "VP8L" && len(data) >= 5 && data[0] == 0x2f:
		v := binary.LittleEndian.Uint32(data[1:])
		return int(v&0x3fff) + 1, int(v>>14&0x3fff) + 1, nil
	case name == "VP8 " && len(data) >= 10 && string(data[3:6]) == "\x9d\x01\x2a":
		return int(binary.LittleEndian.Uint16(data[6:]) & 0x3fff), int(binary.LittleEndian.Uint16(data[8:]) & 0x3fff), nil
	}
	return 0, 0, damaged("its picture has no header")
}

func uint24(b []byte) int { return int(b[0]) | int(b[1])<<8 | int(b[2])<<16 }

// appendRIFF writes a chunk, padded to an even length.
func appendRIFF(to []byte, name string, data []byte) []byte {
	to = append(to, name...)
	to = binary.LittleEndian.AppendUint32(to, uint32(len(data)))
	to = append(to, data...)
	if len(data)%2 == 1 {
		to = append(to, 0)
	}
	return to
}
