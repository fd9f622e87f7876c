package cycle

import (
	"math"

	"rung/internal/quantity"
	"rung/internal/refrigerant"
)

// Machine is one calibrated machine, made by Calibrate. A solve does not
// change it, so one Machine may serve many goroutines.
//
// Inside, everything is plain float64: Pa, K, J/kg, kg/s, W, K/W, m³, kg.
type Machine struct {
	rating Rating
	fluid  *refrigerant.Table
	adjust Adjustment

	pCrit, TCrit float64 // critical point of the refrigerant

	// maxRise and maxFall are how far from the dome the property tables reach,
	// J/kg; only wild iterates get there.
	maxRise, maxFall float64
	pTop             float64 // Pa, highest discharge pressure

	// At the rating point.
	m0, pc0, rhoEvap0 float64 // mass flow; condensing pressure; dew density in the indoor coil
	capOut0           float64 // volume flow of outdoor air, m³/s
	capIn0            float64 // volume flow of indoor air, m³/s
	indoorFan         float64
	z0                [3]float64 // solution there
	overAmbient0, Te0 float64    // condensing over ambient and evaporating, K
	subcool0          float64    // share of the outdoor coil that holds liquid

	swept float64 // displaced volume flow at nominal speed, m³/s
	eta0  float64 // peak of the compressor's efficiency, motor included
	comp  compressorKind

	rOut, rIn resistances // at rated flows, scaled to this machine

	valve expansion
	heat  heatSide

	vol       volumes
	charge0   float64 // kg in the model's volumes at the rating point
	kappa     float64 // liquid-length factor of the charge balance
	slip      float64 // exponent of the slip ratio
	lineGain0 float64 // W/K of the insulated suction line
}

// resistances to heat flow, K/W, of a whole coil face at rated flows.
type resistances struct{ air, twoPhase, vapour, liquid float64 }

func (r resistances) scaled(k float64) resistances {
	return resistances{r.air * k, r.twoPhase * k, r.vapour * k, r.liquid * k}
}

// Shares of the total two-phase resistance. memory: from typical film
// coefficients of plate-fin coils; only the overall scale is calibrated. The air's
// share of the indoor coil was 0.70 and is raised to bring the drop of the dry bulb
// down towards coil_air_drop.txt and laboratory_health.txt in testdata/published:
// 0.80 would serve the drop better and the capacity at high wet bulb worse.
var (
	patternOut = resistances{air: 0.75, twoPhase: 0.25, vapour: 1.9, liquid: 0.94}
	patternIn  = resistances{air: 0.75, twoPhase: 0.25, vapour: 2.4, liquid: 0.94}
)

// volumes of the circuit, m³.
type volumes struct{ outdoor, indoor, liquidLine, suctionLine, shell, oil float64 }

// total is the whole inner volume; the oil's entry is a mass and not part of it.
func (v *volumes) total() float64 {
	return v.outdoor + v.indoor + v.liquidLine + v.suctionLine + v.shell
}

// Sizes per watt of capacity, one ton being 3516.85 W.
//
// memory: coil volumes 1.25 and 0.75 L per ton, 3 L shell, oil term
// 0.06 kg·√tons, 3/8 in. liquid line 0.0491 L/m and 7/8 in. suction line
// 0.25 L/m. They leave out distributor, accumulator and drier, so the charge
// in kilograms comes out 0 to 40 % below the plate's and only its ratio to the
// rated charge is used.
const (
	wattsPerTon     = 3516.85
	outdoorVolume   = 1.25e-3 / wattsPerTon // m³/W
	indoorVolume    = 0.75e-3 / wattsPerTon // m³/W
	shellVolume     = 3e-3                  // m³
	liquidLineArea  = 0.0491e-3             // m², 3/8 in. line
	suctionLineArea = 0.25e-3               // m², 7/8 in. class
	oilPerRootTon   = 0.06                  // kg
)

// Air flows at rating.
const (
	// practice: 400 ft³/min per ton indoors.
	indoorFlow = 0.18878 / wattsPerTon // m³/s per W
	// published: NISTIR 7350 cases, 14.9 °F rise at 35.6 kBtu/h, gives about
	// 2200 ft³/min for 2.4 tons; practice rounds to 850 ft³/min per ton.
	outdoorFlow = 0.40116 / wattsPerTon // m³/s per W
	// fullRise is the condensing over ambient, K, below which a machine needs
	// more outdoor air than that: the air cannot rise past the condensing
	// temperature. Flow grows so that the rise keeps its share of it.
	fullRise = 12.5
)

// Rated drops along the refrigerant's way, Pa. memory: usual magnitudes; the
// NISTIR 7350 machine shows 14 to 20 kPa over the condenser, 70 kPa in its
// liquid line and 15 to 25 kPa in its suction line.
const (
	condenserDrop   = 25e3
	liquidLineDrop  = 20e3
	suctionLineDrop = 25e3
)

// insulatedGain is the heat conductance of an insulated suction line per metre.
// memory: 2.3 W/K for 25 ft.
const insulatedGain = 2.3 / 7.62 // W/(K·m)

// gasShare is the part of the outdoor coil's volume in which foreign gas
// collects while the machine runs. practice: two-phase and vapour zone of a
// condenser with usual subcooling.
const gasShare = 0.7

// standardAtmosphere is the pressure at which leftover air is counted.
const standardAtmosphere = 101325.0 // Pa; published: ISO 2533

// fillTemp is the temperature at which leftover air is counted.
const fillTemp = 293.15 // K

// RatedIndoorAirflow returns the indoor flow at which the plate holds.
func (m *Machine) RatedIndoorAirflow() quantity.VolumeFlow { return quantity.VolumeFlow(m.capIn0) }

// RatedOutdoorAirflow returns the outdoor flow at which the plate holds.
func (m *Machine) RatedOutdoorAirflow() quantity.VolumeFlow { return quantity.VolumeFlow(m.capOut0) }

// RatedMassFlow returns the refrigerant flow at the rating point.
func (m *Machine) RatedMassFlow() quantity.MassFlow { return quantity.MassFlow(m.m0) }

// RatedCharge returns the refrigerant the model holds at the rating point. It
// is 0 to 40 % below a plate's factory charge; use the plate for ounces.
func (m *Machine) RatedCharge() quantity.Mass { return quantity.Mass(m.charge0) }

// InnerVolume returns the whole volume of the circuit in m³.
func (m *Machine) InnerVolume() float64 { return m.vol.total() }

// Efficiency returns the peak efficiency of the compressor with its motor, as
// it follows from the plate.
func (m *Machine) Efficiency() quantity.Ratio { return quantity.Ratio(m.eta0) }

// Displacement returns the swept volume flow at nominal speed.
func (m *Machine) Displacement() quantity.VolumeFlow { return quantity.VolumeFlow(m.swept) }

// Rating returns what the machine was calibrated from, defaults filled in.
func (m *Machine) Rating() Rating { return m.rating }

// Adjustment returns by how much the usual rating temperatures had to move
// before the plate's efficiency asked for a credible compressor.
func (m *Machine) Adjustment() Adjustment { return m.adjust }

// Adjustment says how the plate fits the class averages.
type Adjustment struct {
	CondensingOverAmbient quantity.TempDiff // moved by at most 2.2 K
	Evaporating           quantity.TempDiff // moved by at most 1.1 K
	// Doubtful: even so the compressor would be too good or too bad to be
	// true; the plate data deserve a second look.
	Doubtful bool
}

// root34 returns x^0.75.
func root34(x float64) float64 {
	r := math.Sqrt(x)
	return r * math.Sqrt(r)
}

// softPlus is max(x, 0) rounded over the width w, always above zero.
func softPlus(x, w float64) float64 { return 0.5 * (x + math.Sqrt(x*x+w*w)) }
