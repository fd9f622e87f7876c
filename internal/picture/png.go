package picture

import (
	"encoding/binary"
	"hash/crc32"
)

const pngHead = "\x89PNG\r\n\x1a\n"

// pngParts are the chunks that make a picture and its colours; all others stay
// behind, texts, times and Exif among them, and the further pictures of an
// animation.
//
// published: W3C PNG, third edition, section 11.
var pngParts = map[string]bool{
	"IHDR": true, "PLTE": true, "IDAT": true, "IEND": true, "tRNS": true,
	"cHRM": true, "gAMA": true, "iCCP": true, "sBIT": true, "sRGB": true, "cICP": true, "bKGD": true, "pHYs": true,
}

// cleanPNG copies the chunks of a PNG that make its picture.
func (p *Picture) cleanPNG(b []byte) error {
	var body []byte // after the header
	var header []byte
	seen := false // of the picture itself
	for at := len(pngHead); ; {
		if at+12 > len(b) {
			return damaged("it ends before its last part")
		}
		n := uint64(binary.BigEndian.Uint32(b[at:]))
		if n > uint64(len(b)-at-12) {
			return damaged("part %q is longer than the file", b[at+4:at+8])
		}
		chunk := b[at : at+12+int(n)]
		at += len(chunk)
		name, data := string(chunk[4:8]), chunk[8:8+n]
		if crc32.ChecksumIEEE(chunk[4:8+n]) != binary.BigEndian.Uint32(chunk[8+n:]) {
			return damaged("part %q does not match its checksum", name)
		}
		switch {
		case header == nil && (name != "IHDR" || n != 13):
			return damaged("its first part is %q", name)
		case header == nil:
			header = chunk
			w, h := binary.BigEndian.Uint32(data), binary.BigEndian.Uint32(data[4:])
			p.Width, p.Height = int(min(w, MaxSide+1)), int(min(h, MaxSide+1))
		case name == "IEND":
			if !seen {
				return damaged("it ends before the picture")
			}
			p.Bytes = append([]byte(pngHead), header...)
			if p.Turned != 1 {
				p.Bytes = appendChunk(p.Bytes, "eXIf", turnedTIFF(p.Turned))
			}
			p.Bytes = append(append(p.Bytes, body...), chunk...)
			return nil
		case name == "eXIf":
			p.Turned = orientation(data)
		case name == "IHDR":
			return damaged("it begins twice")
		case pngParts[name]:
			body = append(body, chunk...)
			seen = seen || name == "IDAT"
		}
	}
}

func appendChunk(to []byte, name string, data []byte) []byte {
	to = binary.BigEndian.AppendUint32(to, uint32(len(data)))
	from := len(to)
	to = append(append(to, name...), data...)
	return binary.BigEndian.AppendUint32(to, crc32.ChecksumIEEE(to[from:]))
}
