// Package class says how well the groups of a class agree that measured one car: for
// each pair of stations how far runs and groups scatter (ISO 5725-2), which group
// stands out, and where a single tap explains it. What stands out is flagged and
// never left out. It gives no advice on the car.
//
// Start with Gatherer: it takes one sheet at a time and keeps its runs only, so that
// a class of any size takes little memory; what is added, counts. Judge makes the Class of it.
//
//	gather.go   sheets to runs, brought to one reference point
//	judge.go    each pair of stations
//	robust.go   each group against the median of the class
//	tap.go      station by group: a bad tap, or a group that reads all askew
//	document.go the result; schema.go its JSON form
//
// Pressures are in Pa at the reference point of the first sheet.
package class
