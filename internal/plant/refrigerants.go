package plant

import "slices"

// highPressure lists the refrigerants of units built for about the pressures of
// R-410A; normalPressure R-22 and what replaces it in units built for R-22.
//
// practice: which refrigerants stand in residential split systems. Pressures of
// the two groups differ by more than half, those within a group by a tenth.
var (
	highPressure   = []string{"R-410A", "R-454B", "R-32", "R-452B"}
	normalPressure = []string{"R-22", "R-407C", "R-421A", "R-422D", "R-427A", "R-438A"}
)

// Refrigerants returns the refrigerants that a nameplate may have.
func Refrigerants() []string { return slices.Concat(highPressure, normalPressure) }

// normal reports whether the unit was built for the pressures of R-22.
func (n *Nameplate) normal() bool { return slices.Contains(normalPressure, n.Refrigerant) }
