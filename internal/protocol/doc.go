// Package protocol is the public charge-and-airflow verification procedure for
// residential air conditioners, kept as the baseline that a diagnosis must
// beat: plain readings in, a verdict on airflow and charge out.
//
// It is no part of any advice. Its limits are published (California Residential
// Appendix RA3.2, 2008), two rows of its target split are from memory, and so
// nothing of it may be shown to a customer.
//
// It knows two faults, airflow and charge. Every other fault of the refrigerant
// side either passes or is taken for one of these; docs/reference-protocol-score.md
// counts how often, on simulated systems.
package protocol
