// Package hydronic holds the liquids of a heating loop and the sums done with
// them: heat carried, static head, expansion, a pump against a loop, the mean
// water of radiators, the pressure of an expansion tank.
//
// Water is liquid at 0 to 150 °C and up to 2 MPa, by the industrial formulation
// of the International Association for the Properties of Water and Steam: density
// and heat capacity IF97, viscosity R12-08, conductivity R15-11. The coefficients
// reproduce the check values those documents print to every digit
// (testdata/published). Against other formulations of the same body, density agrees to
// 0.002 %, heat capacity to 0.08 %, viscosity and conductivity to 0.01 %. Left out are
// the critical enhancements of the last two, which do not show in this range.
//
// Solutions of glycol are another matter: their coefficients are from memory and
// no print was seen. Each answer therefore has a stated uncertainty, see
// Uncertainty, and whoever shows one says so. Pumps and emitters are typical
// curves, not a maker's; friction in pipes and loops of several branches are not here.
package hydronic
