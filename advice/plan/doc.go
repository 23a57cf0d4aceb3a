// Package plan finds the next reading worth its cost, or proves that there is
// none. It knows decisions, what they are worth and which readings bear on
// them; it knows no intake.
//
// Everything is in one currency, % of power: what a decision gives back, and
// what a tap or a run costs (Costs). Start with Belief and Choose.
//
// Sources: P. Frazier, W. Powell, S. Dayanik, "The knowledge-gradient policy
// for correlated normal beliefs", INFORMS J. Computing 21 (2009) 599 (exact
// value of one reading); P. Frazier, W. Powell, "Paradoxes in learning and the
// marginal value of information" (2010) (why pairs must be looked at);
// H. Raiffa, R. Schlaifer, "Applied Statistical Decision Theory" (1961).
package plan
