// Package infer turns pressure readings into the losses of the pieces that the
// air passes, with honest intervals. It knows numbers only: which pieces a
// reading spans, how sure each number is and what is shared between them. What
// a mouth or a filter is, package advice knows; what to do next, package plan.
//
// Start with Problem and Solve. The other names are the pieces that Solve is
// made of, kept public because each has its own published check values:
//
//	Network   least squares with full covariance, residuals and their test
//	NonNeg    the same with no loss below nought (Lawson and Hanson)
//	Cut       a normal distribution cut off below nought, by fixed points
//	Points    the low-discrepancy points that stand in for chance
//
// Everything here is deterministic: the same input gives the same numbers.
package infer
