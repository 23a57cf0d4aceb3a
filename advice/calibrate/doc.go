// Package calibrate holds a gauge against a column of water: what the column says
// and how well it is known, the errors of the gauge over its scale, the line
// through them, what rising and falling and repeats differ by, a correction table,
// and whether the gauge may be used. Start with Check.Judge.
//
// All pressures are in Pa, lengths in m. Words are for package advice.
package calibrate
