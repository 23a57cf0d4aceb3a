// Package learn fits what is believed of components before any reading to a
// workshop's own cars: by kind and form a factor on the handbook's loss and the
// scatter about it, the chance of a spoilt piece, the scatter from run to run and from
// one fitting to the next.
//
// Start with Fit, which takes visits and gives Priors; Write and Read are its file,
// Priors.Model what package model takes.
//
// Nothing is taken from middle figures as if they were exact. Each car is solved anew
// under the present belief. What its draws say of each piece is the score of that car;
// the factors follow from the scores under a prior in three tiers: all pieces, those of
// a kind, those of a form. Spreads and chances follow by expectation and maximisation.
// With few cars the prior holds everything near the handbook, and Weight says how near.
//
//	fit.go      the factors, and how well they are known
//	car.go      what one car says under a belief
//	visits.go   which visits count, and how
//	file.go     the file: priors 1
//	schema.go   its keys
//
// Figures of the tiers are our choice where nothing else is said.
package learn
