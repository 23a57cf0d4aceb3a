// Package practice makes simulated cars with a hidden truth. They judge the
// program's own advice, and learners find their way on them.
//
// It is no handbook and no estimator. Its physics is its own and is kept apart
// from the packages that estimate: here fittings disturb each other, losses go
// with exponents below two, bores are not what the tape says, air thins on its
// way in, and people misread, lend a leaking hose or forget the zero. A method
// that is right on these cars has not merely agreed with itself.
//
// Start at Draw, which makes a Car from a seed. Car.Truth is what nobody who
// tests the car can see. Car.Session is one visit with gauges and weather;
// Session.Describe is the sheet that an honest tester would begin, and
// Session.Measure takes readings. FullWalk and Play do whole visits. Cars lists
// the learners' cars. The scores at the end (Coverage, MeanScore, Wilson
// and so on) know nothing of cars.
//
// Everything follows from the seed. Sheets hold rounded figures and are the
// same bytes on every machine; figures of the truth may differ in their last
// bits where a processor fuses multiplication and addition.
package practice
