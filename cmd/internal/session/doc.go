// Package session takes one person through a procedure: it hands prompts of
// the engine to an Asker and answers back, and sees to it that every event is
// on the disk before anything follows from it. It also rebuilds a run from its
// record. It knows no screen and no commands.
//
// One answer goes this way, strictly in order:
//
//	Run.Next -> Asker.Ask -> Run.Propose -> Store.Append, synced -> Run.Apply
//
// Where prompts are shown in brief, several are answered as one and recorded one
// by one. Where a paper is typed in (Session.Paper) a block of prompts is answered
// on a copy of the run, each entry on the disk at once, and recorded once both
// entries of its numbers agree.
//
// Start with Begin or Continue, then Session.Drive.
package session
