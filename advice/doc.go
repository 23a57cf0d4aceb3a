// Package advice says what the readings of an intake test mean and what to do about
// it. It judges; it runs no procedure, writes no record and knows no screen.
//
// There are three doors. Assess takes a test sheet and gives an assessment: losses with
// their intervals, a verdict, the next reading worth its cost. Matter is what a
// procedure is about: the fields that steps fill, the facts that rules name, the offers
// of rounds and the pages. Found takes what a further test filled in and gives its
// finding.
//
//	assess.go, result.go, gains.go, nextreading.go   from a sheet to an assessment
//	figures.go                                       the running total along the path, for its picture
//	matter.go, view.go, page.go, picture.go          what procedures ask
//	understand.go, size.go, doubt.go                 one line of an answer, and what is asked back
//	entries.go, unnamedpieces.go                     answers as entries of a sheet, and without names
//	cards.go                                         cards of gauges in answers
//	blocks.go                                        a test before and after a change
//	findings.go                                      what all further tests share; each has a file of its own
//
// Pressures are in Pa, temperatures in K, lengths in m, unless a name says otherwise.
package advice
