// Package answers runs a procedure from a file of answers instead of from a
// terminal. A file holds answers by the id of their step; what is asked in
// rounds stands in lists, and where the advice chooses the order of the rounds
// an item says which it is about: a reading by its pair of stations.
//
//	answers: 1
//	procedure: intake
//	holds: done-on-paper
//	steps:
//	  displacement: 1998 cc
//	  fuel: "?"
//	taps:
//	- {station: tube, drill: done, fitting: done}
//	readings:
//	- from: open-air
//	  to: tube
//	  connect: done
//	  runs: [12.5 inH2O at 6050, 12.4 inH2O at 6000, 12.6 inH2O at 6020]
//
// A file is read against the procedure that it answers (Read), rehearsed so
// that everything that is wrong or missing is told before anything is recorded
// (File.Rehearse), and then answers prompts as a person would (NewAsker). What it
// holds and nobody asked for is told at the end (Asker.Unasked). Template writes a
// file to fill in.
//
// It knows no car and no commands: what tells one round from another comes
// through subject.Source.
package answers
