package quantity

// Temperature is a thermodynamic temperature in kelvin.
type Temperature float64

// TempDiff is a difference of two temperatures in kelvin: superheat,
// subcooling, temperature split.
type TempDiff float64

// Pressure is an absolute pressure in pascal.
type Pressure float64

// PressureDiff is a difference of two pressures in pascal: a gauge reading,
// a static pressure, a drop across a filter.
type PressureDiff float64

// Quantities with nothing to say beyond their unit.
type (
	Power              float64 // W
	Energy             float64 // J
	Voltage            float64 // V, rms
	Current            float64 // A, rms
	Resistance         float64 // ohm
	Capacitance        float64 // F
	Frequency          float64 // Hz
	Length             float64 // m
	Area               float64 // m²
	Mass               float64 // kg
	Torque             float64 // N·m
	Speed              float64 // m/s
	AngularSpeed       float64 // rad/s
	Density            float64 // kg/m³
	SpecificVolume     float64 // m³/kg
	MassFlow           float64 // kg/s
	VolumeFlow         float64 // m³/s
	SpecificEnthalpy   float64 // J/kg
	SpecificEntropy    float64 // J/(kg·K)
	SpecificHeat       float64 // J/(kg·K)
	HumidityRatio      float64 // kg water per kg dry air
	RelativeHumidity   float64 // fraction, 0 to 1
	Ratio              float64 // 1
	ThermalConductance float64 // W/K
	Volume             float64 // m³
	HeatingValue       float64 // J/m³, of fuel gas
	Viscosity          float64 // Pa·s, dynamic
	Conductivity       float64 // W/(m·K), thermal
)

// Kelvin returns t in kelvin.
func (t Temperature) Kelvin() float64 { return float64(t) }

// Sub returns the difference t − u.
func (t Temperature) Sub(u Temperature) TempDiff { return TempDiff(t - u) }

// Add returns the temperature d above t.
func (t Temperature) Add(d TempDiff) Temperature { return t + Temperature(d) }

// Kelvin returns d in kelvin.
func (d TempDiff) Kelvin() float64 { return float64(d) }

// Pascal returns p in pascal.
func (p Pressure) Pascal() float64 { return float64(p) }

// Sub returns the difference p − q.
func (p Pressure) Sub(q Pressure) PressureDiff { return PressureDiff(p - q) }

// Add returns the pressure d above p.
func (p Pressure) Add(d PressureDiff) Pressure { return p + Pressure(d) }

// Pascal returns d in pascal.
func (d PressureDiff) Pascal() float64 { return float64(d) }

// Above returns the absolute pressure of a gauge reading d taken where the
// surrounding air has the pressure ambient.
func (d PressureDiff) Above(ambient Pressure) Pressure { return ambient + Pressure(d) }
