package combustion

// polynomial is the heat capacity of a gas over the gas constant,
// a1 + a2 T + … + a5 T⁴, with a6 the constant of its enthalpy.
type polynomial [6]float64

// published: GRI-Mech 3.0, thermodynamics released 1999-07-30, coefficients up to
// 1000 K. The source begins at 200 K, for nitrogen at 300 K, below which it is
// extrapolated: 1 % of the heat capacity at 230 K.
var (
	nitrogenGas = polynomial{3.298677, 1.4082404e-3, -3.963222e-6, 5.641515e-9, -2.444854e-12, -1020.8999}
	oxygenGas   = polynomial{3.78245636, -2.99673416e-3, 9.84730201e-6, -9.68129509e-9, 3.24372837e-12, -1063.94356}
	dioxideGas  = polynomial{2.35677352, 8.98459677e-3, -7.12356269e-6, 2.45919022e-9, -1.43699548e-13, -48371.9697}
	waterGas    = polynomial{4.19864056, -2.0364341e-3, 6.52040211e-6, -5.48797062e-9, 1.77197817e-12, -30293.7267}
)

// enthalpy returns J/mol at T in K, that of the elements at 25 °C being zero.
func (a polynomial) enthalpy(T float64) float64 {
	return gasConstant * (a[5] + T*(a[0]+T*(a[1]/2+T*(a[2]/3+T*(a[3]/4+T*a[4]/5)))))
}

// over25 returns J/mol above 25 °C at T in K.
func (a polynomial) over25(T float64) float64 {
	const reference = 298.15 // K
	return a.enthalpy(T) - a.enthalpy(reference)
}

// heatCapacity returns J/(mol·K) at T in K.
func (a polynomial) heatCapacity(T float64) float64 {
	return gasConstant * (a[0] + T*(a[1]+T*(a[2]+T*(a[3]+T*a[4]))))
}
