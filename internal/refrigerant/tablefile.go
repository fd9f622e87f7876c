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
// float32 each: saturation rows, line pressures, surfaces. All little-endian. A
// float32 carries 6e-8 of the value, less than the splines.

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
	put := func(values ...float64) {
		for _, v := range values {
			b = binary.LittleEndian.AppendUint32(b, math.Float32bits(float32(v)))
		}
	}
	for _, row := range n.sat {
		put(row[:]...)
	}
	for _, row := range n.lines {
		put(row[:]...)
	}
	for _, s := range n.surfaces {
		put(s...)
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
	if want := 4 * n.count(); len(b) != want {
		return nil, fmt.Errorf("%d bytes of values, want %d", len(b), want)
	}
	take := func(into []float64) {
		for i := range into {
			into[i] = float64(math.Float32frombits(binary.LittleEndian.Uint32(b[4*i:])))
		}
		b = b[4*len(into):]
	}
	for i := range n.sat {
		take(n.sat[i][:])
	}
	for i := range n.lines {
		take(n.lines[i][:])
	}
	for i := range n.surfaces {
		take(n.surfaces[i])
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
