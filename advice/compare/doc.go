// Package compare says whether a change helped: two sheets of one car, before and
// after (A-B), or three, and before once more (A-B-A). It judges every pair of
// stations that all sheets read, the losses between them and the whole path, and
// what that is worth in power. It gives no advice.
//
// Start with Sheets; History finds out how far one car's readings scatter from one
// fitting to the next.
//
//	compare.go   the front door; what is refused
//	point.go     the reference point, and what one sheet reads there
//	block.go     one sheet as a block of runs at the common reference point
//	effect.go    a change and everything that makes it uncertain
//	verdict.go   better, worse, no-meaningful-change, cannot-tell, and what would cure that
//	loss.go      losses of the pieces, the whole path, power
//	refit.go     how far a car scatters from one fitting to the next
//	document.go  the result; schema.go its JSON form
//
// Pressures are in Pa at the reference point. A change is after less before, so
// that a gain is negative: less is lost.
package compare
