// Package causes works out which of several causes a symptom has, and which
// check to make next. It knows no files, prompts or cars: chances, minutes and
// likelihoods only.
//
// What is supposed: there is one fault, one of the causes of a Model or none of
// them. Each check has an outcome whose likelihood depends on the cause alone,
// so beliefs follow by Bayes' rule. Putting a cause right takes its minutes, and
// first whatever has to be opened for it, which is paid once for all that need it.
//
// The order of putting right is that of falling chance over minutes, which is the
// cheapest in expectation for one fault and independent repairs (J. B. Kadane and
// H. A. Simon, Optimal strategies for a class of constrained sequential problems,
// Annals of Statistics 5, 1977). With shared openings the whole block of openings
// and causes that has the highest ratio comes first (J. B. Sidney, Decomposition
// algorithms for single-machine sequencing with precedence relations, Operations
// Research 23, 1975; for troubleshooting T. J. Ottosen and F. V. Jensen, The cost
// of troubleshooting cost clusters with inside information, UAI 2010). That is the
// cheapest order where each cause needs one chain of openings; where openings
// cross, it is a good order and no more.
//
// The next check is the one that saves most per minute: how much it lowers the
// expected minutes of putting right, over the minutes that it takes (D.
// Heckerman, J. S. Breese and K. Rommelse, Decision-theoretic troubleshooting,
// Communications of the ACM 38(3), 1995, who look one observation ahead as well).
// Where no single check pays, pairs are looked at.
//
// Start with Model, then Model.Next.
package causes
