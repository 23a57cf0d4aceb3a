// Package duct gives the handbook losses of the pieces of an intake path.
//
// A loss is a drop of total pressure in Pa, K times the velocity head
// q = 0.5 rho V^2 of the air in the bore of the piece. All values are SI:
// metre, radian, kg/s, Pa; a field at nought is unknown. The functions are pure
// and read no text.
//
// Start with Handbook. The single laws (Friction, Bend, Diffuser ...) stand
// beside their sources and can be used alone. Where authors differ, the
// central value lies between them and their spread is part of the uncertainty.
//
// What is not here: pulsation, compressibility above 0.2 Mach (1 % of q), and
// the mutual effect of fittings closer than five diameters, which is part of
// the scatter instead.
package duct
