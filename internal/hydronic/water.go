package hydronic

import (
	"math"

	"rung/internal/quantity"
)

// Liquid is what a loop needs to know of its filling.
type Liquid struct {
	Density      quantity.Density
	SpecificHeat quantity.SpecificHeat
	Viscosity    quantity.Viscosity
	Conductivity quantity.Conductivity
}

const (
	minTemp     = 273.15 // K
	maxTemp     = 423.15 // K; no house is hotter
	maxPressure = 2e6    // Pa; no house has more
)

// WaterAt returns liquid water at the temperature t and the absolute pressure p.
//
// Range 273.15 to 423.15 K, and from the boiling pressure to 2 MPa; outside the
// error is a *quantity.RangeError.
func WaterAt(t quantity.Temperature, p quantity.Pressure) (Liquid, error) {
	const op = "hydronic.WaterAt"
	T, P := t.Kelvin(), p.Pascal()
	if err := quantity.CheckRange(op, "temperature", T, minTemp, maxTemp, "K"); err != nil {
		return Liquid{}, err
	}
	if err := quantity.CheckRange(op, "pressure", P, boilingPressure(T), maxPressure, "Pa"); err != nil {
		return Liquid{}, err
	}
	w := region1(T, P)
	rho := 1 / w.v
	return Liquid{
		Density:      quantity.Density(rho),
		SpecificHeat: quantity.SpecificHeat(w.cp),
		Viscosity:    quantity.Viscosity(viscosity(T, rho)),
		Conductivity: quantity.Conductivity(conductivity(T, rho)),
	}, nil
}

// steam holds specific volume in m³/kg, enthalpy in J/kg and heat capacity in
// J/(kg·K).
type steam struct{ v, h, cp float64 }

// region1 is the basic equation of IF97 for liquid water at T in K and p in Pa.
//
// published: IAPWS R7-97(2012), eq. 7 and table 3
func region1(T, p float64) steam {
	const (
		R      = 461.526 // J/(kg·K)
		starP  = 16.53e6 // Pa
		starT  = 1386.0  // K
		shiftP = 7.1     // 1
		shiftT = 1.222   // 1
	)
	pi, tau := p/starP, starT/T
	a, b := shiftP-pi, tau-shiftT
	var gPi, gTau, gTauTau float64
	for _, c := range gibbs {
		i, j := float64(c.i), float64(c.j)
		f := c.n * power(a, c.i) * power(b, c.j)
		gPi -= f * i / a
		gTau += f * j / b
		gTauTau += f * j * (j - 1) / (b * b)
	}
	return steam{v: pi * gPi * R * T / p, h: tau * gTau * R * T, cp: -R * tau * tau * gTauTau}
}

// power returns x to the n; far faster than math.Pow for small whole n.
func power(x float64, n int) float64 {
	if n < 0 {
		x, n = 1/x, -n
	}
	y := 1.0
	for ; n > 0; n >>= 1 {
		if n&1 == 1 {
			y *= x
		}
		x *= x
	}
	return y
}

// The saturation line.
//
// published: IAPWS R7-97(2012), table 34
var saturation = [...]float64{0, 0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2,
	0.12020824702470e5, -0.32325550322333e7, 0.14915108613530e2, -0.48232657361591e4,
	0.40511340542057e6, -0.23855557567849, 0.65017534844798e3}

// BoilingPressure returns the pressure at which water of the temperature t
// boils, from 273.15 to 423.15 K.
func BoilingPressure(t quantity.Temperature) (quantity.Pressure, error) {
	T := t.Kelvin()
	if err := quantity.CheckRange("hydronic.BoilingPressure", "temperature", T, minTemp, maxTemp, "K"); err != nil {
		return 0, err
	}
	return quantity.Pressure(boilingPressure(T)), nil
}

// boilingPressure returns Pa at T in K.
//
// published: IAPWS R7-97(2012), eq. 30
func boilingPressure(T float64) float64 {
	const starP = 1e6 // Pa
	n := &saturation
	th := T + n[9]/(T-n[10])
	A := th*th + n[1]*th + n[2]
	B := n[3]*th*th + n[4]*th + n[5]
	C := n[6]*th*th + n[7]*th + n[8]
	return starP * power(2*C/(-B+math.Sqrt(B*B-4*A*C)), 4)
}

// BoilingPoint returns the temperature at which water boils at the pressure p,
// for boiling points from 273.15 to 423.15 K.
//
// published: IAPWS R7-97(2012), eq. 31
func BoilingPoint(p quantity.Pressure) (quantity.Temperature, error) {
	const starP = 1e6 // Pa
	if err := quantity.CheckRange("hydronic.BoilingPoint", "pressure", p.Pascal(), boilingPressure(minTemp), boilingPressure(maxTemp), "Pa"); err != nil {
		return 0, err
	}
	n := &saturation
	beta := math.Sqrt(math.Sqrt(p.Pascal() / starP))
	E := beta*beta + n[3]*beta + n[6]
	F := n[1]*beta*beta + n[4]*beta + n[7]
	G := n[2]*beta*beta + n[5]*beta + n[8]
	D := 2 * G / (-F - math.Sqrt(F*F-4*E*G))
	sum := n[10] + D
	return quantity.Temperature((sum - math.Sqrt(sum*sum-4*(n[9]+n[10]*D))) / 2), nil
}

// The critical point, to which viscosity and conductivity are reduced.
//
// published: IAPWS R12-08 and R15-11, table 1
const (
	criticalT   = 647.096 // K
	criticalRho = 322.0   // kg/m³
)

// viscosity returns Pa·s at T in K and rho in kg/m³, without the enhancement near
// the critical point.
//
// published: IAPWS R12-08, eqs. 10 to 12, coefficients of eq. 11 from its table 1
func viscosity(T, rho float64) float64 {
	H := [...]float64{1.67752, 2.20462, 0.6366564, -0.241605}
	const star = 1e-6 // Pa·s
	Tr := T / criticalT
	dilute := 0.0
	for i, h := range H {
		dilute += h / power(Tr, i)
	}
	return star * 100 * math.Sqrt(Tr) / dilute * residual(viscous[:], Tr, rho/criticalRho)
}

// conductivity returns W/(m·K) at T in K and rho in kg/m³, without the
// enhancement near the critical point.
//
// published: IAPWS R15-11, eqs. 15 to 17, coefficients of eq. 16 from its table 1
func conductivity(T, rho float64) float64 {
	L := [...]float64{2.443221e-3, 1.323095e-2, 6.770357e-3, -3.454586e-3, 4.096266e-4}
	const star = 1e-3 // W/(m·K)
	Tr := T / criticalT
	dilute := 0.0
	for i, l := range L {
		dilute += l / power(Tr, i)
	}
	return star * math.Sqrt(Tr) / dilute * residual(conducting[:], Tr, rho/criticalRho)
}

// residual is the factor of dense water over dilute steam, the same form for
// both properties.
func residual(terms []term, Tr, d float64) float64 {
	sum := 0.0
	for _, c := range terms {
		sum += c.n * power(1/Tr-1, c.i) * power(d-1, c.j)
	}
	return math.Exp(d * sum)
}
