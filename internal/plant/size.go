package plant

import (
	_ "embed"
	"fmt"
	"math"
	"strconv"
	"strings"
)

//go:embed data/sizes.txt
var sizesText string

// size is the usual electrical plate of an outdoor unit, in SI.
type size struct {
	capacity, rla, lra, herm, fanCap, fanPower, fanAmps, protection float64
	awg                                                             int
}

var sizes = mustSizes(sizesText)

func mustSizes(text string) []size {
	list, err := parseSizes(text)
	if err != nil {
		panic("plant: " + err.Error())
	}
	return list
}

func parseSizes(text string) ([]size, error) {
	var list []size
	for i, line := range strings.Split(text, "\n") {
		if line = strings.TrimSpace(line); line == "" || strings.HasPrefix(line, "#") {
			continue
		}
		cells := strings.Split(line, "|")
		if len(cells) != 9 {
			return nil, fmt.Errorf("sizes.txt:%d: %d columns, want 9", i+1, len(cells))
		}
		var v [9]float64
		for j, cell := range cells {
			x, err := strconv.ParseFloat(strings.TrimSpace(cell), 64)
			if err != nil {
				return nil, fmt.Errorf("sizes.txt:%d: %w", i+1, err)
			}
			v[j] = x
		}
		list = append(list, size{capacity: v[0], rla: v[1], lra: v[2], herm: v[3], fanCap: v[4],
			fanPower: v[5], fanAmps: v[6], protection: v[7], awg: int(v[8])})
	}
	return list, nil
}

// sizeFor returns the listed size nearest to a cooling capacity in W.
func sizeFor(capacity float64) size {
	return nearest(func(s size) float64 { return math.Abs(s.capacity - capacity) })
}

// capacityForRLA returns the capacity in W whose usual rated load amps are
// nearest to rla.
func capacityForRLA(rla float64) float64 {
	return nearest(func(s size) float64 { return math.Abs(s.rla - rla) }).capacity
}

func nearest(distance func(size) float64) size {
	best := sizes[0]
	for _, s := range sizes[1:] {
		if distance(s) < distance(best) {
			best = s
		}
	}
	return best
}
