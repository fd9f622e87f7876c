package journal

import (
	"encoding/binary"
	"hash/crc32"
)

// castagnoli is the polynomial of the checksum of an entry.
var castagnoli = crc32.MakeTable(crc32.Castagnoli)

// Checksum returns the CRC-32C over every field of e, each text preceded by its
// length, for a store to keep beside the entry and to compare when it is read.
func (e Envelope) Checksum() int64 {
	b := make([]byte, 0, 128+len(e.Payload))
	b = append(b, e.ID[:]...)
	b = binary.BigEndian.AppendUint64(b, uint64(e.Time))
	b = binary.BigEndian.AppendUint64(b, uint64(e.Version))
	for _, s := range []string{string(e.Stream), e.Device, e.Author, e.Kind} {
		b = binary.BigEndian.AppendUint32(b, uint32(len(s)))
		b = append(b, s...)
	}
	return int64(crc32.Checksum(append(b, e.Payload...), castagnoli))
}
