// Package pulls finds full-load pulls in what a recorder wrote and reads
// pressures from them, as a person reads a gauge on a run. It knows a car only
// by its signals: which channel is what follows from names and behaviour, what
// full load is from the highest level that the log itself holds.
//
// Start with Read. A log is read once, in constant memory; what Read finds is
// a Result, which is also what "dropwalk pulls --json" prints.
//
// # The rule
//
// A stretch is a pull where all of this holds:
//
//  1. The engine speed rises, without falling back by more than 2 %, by at least
//     a fifth of the span that the log shows.
//  2. Every channel that tells the load stands in the upper quarter of its own
//     span. The span reaches from the level below which the channel stays for a
//     twentieth of the time to the highest that it holds for three seconds in
//     all.
//  3. At least five fresh samples of engine speed lie in it, and it lasts 1.5 s
//     at least. A held value is no sample.
//  4. Air flow and intake pressure, where they are logged, rise with the engine
//     speed.
//
// A pull ends at the last moment at which a fresh sample still shows full load:
// a value that is only held proves nothing.
package pulls
