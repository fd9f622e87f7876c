// Package refrigerant gives the thermodynamic properties of refrigerants from
// published equations of state, and from tables fitted to them for models that
// ask thousands of times.
//
// An equation of state is the Helmholtz energy of the fluid as a function of
// temperature and density, of which every property is a derivative. A fluid is
// one file in data/; nothing else names it. A pure fluid boils where liquid and
// vapour have equal pressure and equal Gibbs energy. A blend treated as one
// fluid ("pseudo-pure", R-410A) has a bubble and a dew line given by fits that
// were published with its equation.
//
// Pressures are absolute. Enthalpy and entropy count from the reference state
// of the International Institute of Refrigeration: 200 kJ/kg and 1 kJ/(kg·K)
// for liquid at the bubble point at 0 °C.
//
// Left out: transport properties, the melting line, and what a leak does to
// the composition of a blend.
package refrigerant
