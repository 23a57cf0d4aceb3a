// Package trial walks a procedure without a car, a gauge or a person: every
// answer that a step can take is given once, every rule is made true, false and
// undecided, rounds come as seldom and as often as they may, and at every step
// somebody says stop. What is walked is the real run of package engine. The
// matter is supposed: facts are what a walk needs them to be, and nothing is
// worked out from readings.
//
// Start with Walk. It is deterministic, and its work is bounded: what was not
// tried for that reason is counted.
package trial
