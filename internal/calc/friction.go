package calc

import "math"

// drawnCopper is the roughness of the wall of drawn tube, in m.
// published: L. F. Moody, Trans. ASME 66, 1944, drawn tubing 0.000005 ft, as in any text; the paper not seen.
const drawnCopper = 1.5e-6

// darcyFactor returns the friction factor of Darcy at the Reynolds number re,
// above 0, and the relative roughness. It spans laminar and turbulent flow
// without a step, and is within a few percent of Colebrook's in the latter.
//
// published: S. W. Churchill, Chemical Engineering 84(24), 1977, 91, as in
// texts on pipe flow; the paper not seen.
func darcyFactor(re, roughness float64) float64 {
	a := math.Pow(-2.457*math.Log(math.Pow(7/re, 0.9)+0.27*roughness), 16)
	b := math.Pow(37530/re, 16)
	return 8 * math.Pow(math.Pow(8/re, 12)+math.Pow(a+b, -1.5), 1.0/12)
}

// flow is what moves through a pipe, in SI.
type flow struct {
	mass, density, viscosity float64 // kg/s, kg/m³, Pa·s
	inside                   float64 // m
}

func (w flow) velocity() float64 { return 4 * w.mass / (math.Pi * w.inside * w.inside * w.density) }

func (w flow) reynolds() float64 { return w.velocity() * w.density * w.inside / w.viscosity }

// drop returns the loss of pressure by friction over a length in m, in Pa, at
// constant density.
//
// published: Darcy and Weisbach, any text.
func (w flow) drop(length float64) float64 {
	v := w.velocity()
	return darcyFactor(w.reynolds(), drawnCopper/w.inside) * length / w.inside * w.density / 2 * v * v
}
