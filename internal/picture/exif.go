package picture

import (
	"encoding/binary"
)

// orientationTag is the tag of which way up a picture is.
//
// published: Exif 2.3 (CIPA DC-008-2012), 4.6.4 A, tag 274, type SHORT, count 1.
const orientationTag, shortType = 0x0112, 3

// orientation reads which way up a picture is out of the TIFF structure of Exif;
// 1 where it does not say, or is no such structure.
//
// published: TIFF 6.0, section 2: byte order, 42, offset of the first directory;
// a directory is a count and entries of 12 bytes.
func orientation(tiff []byte) int {
	if len(tiff) < 8 {
		return 1
	}
	var order binary.ByteOrder = binary.BigEndian
	switch string(tiff[:4]) {
	case "II*\x00":
		order = binary.LittleEndian
	case "MM\x00*":
	default:
		return 1
	}
	at := uint64(order.Uint32(tiff[4:]))
	if at+2 > uint64(len(tiff)) {
		return 1
	}
	n := uint64(order.Uint16(tiff[at:]))
	for i := range n {
		e := at + 2 + 12*i
		if e+12 > uint64(len(tiff)) {
			return 1
		}
		entry := tiff[e : e+12]
		if order.Uint16(entry) != orientationTag || order.Uint16(entry[2:]) != shortType {
			continue
		}
		if v := int(order.Uint16(entry[8:])); v >= 1 && v <= 8 {
			return v
		}
		return 1
	}
	return 1
}

// turnedTIFF is a TIFF structure that says which way up a picture is and nothing
// else.
func turnedTIFF(turned int) []byte {
	b := []byte("MM\x00*\x00\x00\x00\x08\x00\x01")
	b = binary.BigEndian.AppendUint16(b, orientationTag)
	b = binary.BigEndian.AppendUint16(b, shortType)
	b = binary.BigEndian.AppendUint32(b, 1)
	b = binary.BigEndian.AppendUint16(b, uint16(turned))
	return append(b, 0, 0, 0, 0, 0, 0) // rest of the value; no further directory
}
