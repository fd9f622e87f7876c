package refrigerant

import (
	"embed"
	"encoding/binary"
	"fmt"
	"math"
	"strings"
)

//go:generate go run ./gen

// A generated table is the header, float64 each, then the values at the nodes,
// float32 each: saturation rows, line pressures, surfaces. A float32 carries
// 6e-8 of the value, less than the splines.
//
// Values are not written as they are but as their bits differ from what the
// neighbours let expect (see bend), all lowest bytes first, then the next:
// nothing is lost, and the tables, most of what a phone fetches beside the
// program itself, pack into two fifths of the room. All little-endian.

//go:embed tables/*.bin
var tableFiles embed.FS

// Tabulated returns the names of the refrigerants that have tables, sorted:
// all that have a name.
func Tabulated() []string { return Names() }

// tableFile returns the name of the file of a table.
func tableFile(name string) string {
	return "tables/" + strings.NewReplacer("(", "", ")", "").Replace(name) + ".bin"
}

// header lists the numbers of n that are kept at full width.
func (n *nodes) header() []*float64 {
	g := &n.grid
	return []*float64{
		&n.pScale, &n.wMin, &n.wMax, &n.tempMin, &n.tempStep, &n.minT, &n.maxT,
		&g.satSplit, &g.fineSplit, &g.deepSplit, &g.doublings,
		&g.vapH, &g.vapS, &g.vapT, &g.liqH, &g.liqT,
	}
}

// Tabulate evaluates the equation of a refrigerant at every node of its tables
// and returns the name and the content of their file, for the program that
// generates them.
func Tabulate(name string) (file string, content []byte, err error) {
	f, err := Lookup(name)
	if err != nil {
		return "", nil, err
	}
	n, err := f.tabulate()
	if err != nil {
		return "", nil, err
	}
	return tableFile(f.name), n.encode(), nil
}

func (n *nodes) encode() []byte {
	var b []byte
	for _, v := range n.header() {
		b = binary.LittleEndian.AppendUint64(b, math.Float64bits(*v))
	}
	var packed []uint32
	for _, t := range n.blocks() {
		bits := make([]int32, t.rows*t.columns)
		for i := range bits {
			bits[i] = int32(math.Float32bits(float32(*t.value(i))))
		}
		t.alongLines(bits, bend)
		for _, d := range bits {
			packed = append(packed, uint32(d<<1)^uint32(d>>31)) // small numbers of either sign have leading zeros
		}
	}
	for shift := 0; shift < 32; shift += 8 {
		for _, v := range packed {
			b = append(b, byte(v>>shift))
		}
	}
	return b
}

// decodeNodes reads what encode wrote.
func decodeNodes(b []byte) (*nodes, error) {
	n := &nodes{}
	header := n.header()
	if len(b) < 8*len(header) {
		return nil, fmt.Errorf("%d bytes, less than the header", len(b))
	}
	for i, v := range header {
		*v = math.Float64frombits(binary.LittleEndian.Uint64(b[8*i:]))
	}
	b = b[8*len(header):]
	count := n.count()
	if len(b) != 4*count {
		return nil, fmt.Errorf("%d bytes of values, want %d", len(b), 4*count)
	}
	at := 0
	for _, t := range n.blocks() {
		bits := make([]int32, t.rows*t.columns)
		for i := range bits {
			v := uint32(b[at]) | uint32(b[at+count])<<8 | uint32(b[at+2*count])<<16 | uint32(b[at+3*count])<<24
			bits[i] = int32(v>>1) ^ -int32(v&1)
			at++
		}
		t.alongLines(bits, unbend)
		for i, v := range bits {
			*t.value(i) = float64(math.Float32frombits(uint32(v)))
		}
	}
	return n, nil
}

// count makes room for the values that belong to the header of n, and returns
// their number.
func (n *nodes) count() int {
	sat, fine := n.axes()
	deep := n.grid.depth(1).axis.n
	n.sat = make([][satColumns]float64, sat.n)
	n.lines = make([][2]float64, lineNodes)
	for i := range n.surfaces {
		n.surfaces[i] = make([]float64, fine.n*deep)
	}
	return sat.n*satColumns + lineNodes*2 + surfaces*fine.n*deep
}
