// Package model makes numbers of a test sheet: the mass flow, the velocity head
// at each station, what the handbook expects of each component, each reading
// corrected to the reference point, and what makes them uncertain. What it
// makes, package infer solves. It gives no advice.
//
// Start with New, which turns a sheet into a Car; then Car.Problem.
//
//	frame.go     reference point, air, stations
//	flow.go      mass flow at the reference point and on a run
//	prior.go     what is believed of each component before any reading
//	priors.go    the same as a workshop's own cars have it
//	reading.go   a reading corrected to the reference point
//	factor.go    the errors that readings share, and their covariance
//	cause.go     the same, for whoever compares sheets
//	check.go     what the readings say about themselves
//	measured.go  one piece by the readings across it alone
//	growth.go    readings far below the reference rpm
//	bounds.go    readings off the scale against those that gave a value
//	widest.go    what makes the total uncertain most
//	setup.go     faults of the setup weighed against faults of the car
//
// Pressures are in Pa, flows in kg/s, temperatures in K; "log SD" is the
// standard deviation of the natural logarithm. Figures that come from nowhere
// but practice say so where they stand.
package model
