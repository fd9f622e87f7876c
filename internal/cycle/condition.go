package cycle

import "rung/internal/quantity"

// Mode is which way the refrigerant runs.
type Mode uint8

// The modes. The zero value is cooling.
const (
	Cooling Mode = iota
	Heating      // the reversing valve over: the indoor coil condenses, the outdoor coil evaporates
)

// Condition is what surrounds and drives a machine during one solve.
type Condition struct {
	Mode           Mode
	Outdoor        quantity.Temperature // air entering the outdoor coil
	ReturnDryBulb  quantity.Temperature // air entering the indoor coil
	ReturnHumidity quantity.HumidityRatio
	// OutdoorHumidity counts in heating, where it is what freezes on the coil.
	OutdoorHumidity quantity.HumidityRatio
	Ambient         quantity.Pressure // of the site's air; sets the density of the air streams

	IndoorAirflow  quantity.Ratio // volume flow over Machine.RatedIndoorAirflow
	OutdoorAirflow quantity.Ratio // volume flow over the rated one
	IndoorFanHeat  quantity.Power // blower power, all of it heat behind the coil
	Speed          quantity.Ratio // compressor speed over nominal; 1 at rated slip
}

// Fault is what is wrong inside the refrigerant circuit and at its coils.
// Start from Healthy: the zero value is not a sound machine.
type Fault struct {
	Charge            quantity.Ratio        // charge over rated charge; 1
	OutdoorFouling    quantity.Ratio        // added air-side resistance over the clean one; 0
	IndoorFouling     quantity.Ratio        // likewise; 0
	LiquidRestriction quantity.PressureDiff // added drop in the liquid line at rated flow; 0
	NonCondensables   quantity.Ratio        // air left in the circuit, in circuit volumes at 1 atm; 0
	CompressorLeak    quantity.Ratio        // share of the displaced flow that leaks back; 0. At 1 nothing is pumped.
	ValveStuckAt      quantity.Ratio        // opening over rated opening of a stuck TXV; 0: free to move
	ValveSuperheat    quantity.TempDiff     // added to what the TXV regulates to; 0
	BulbContact       quantity.Ratio        // of the TXV bulb with the pipe; 1. At 0 it feels the return air.
	OrificeScale      quantity.Ratio        // area of orifice or valve port over the right one; 1
	// ReversingValveLeak is the share of the compressor's delivery that a worn
	// reversing valve lets straight back to suction, in either mode; 0.
	ReversingValveLeak quantity.Ratio
	// CheckValveLeak is the open area beside the metering device in use, over its
	// rated one, of its own check valve that does not close; 0. One that does not
	// open, at the device not in use, is a LiquidRestriction.
	CheckValveLeak  quantity.Ratio
	SuctionLineGain quantity.Ratio // heat conductance of the suction line over the insulated one; 1
}

// Healthy is the Fault of a sound machine.
func Healthy() Fault {
	return Fault{Charge: 1, BulbContact: 1, OrificeScale: 1, SuctionLineGain: 1}
}
