// Package session takes one person through a procedure: it hands prompts of
// the engine to an Asker and answers back, and sees to it that every event is
// on the disk before anything follows from it. It also rebuilds a run from its
// record. It knows no screen and no commands.
//
// One answer goes this way, strictly in order:
//
//	Run.Next -> Asker.Ask -> Run.Propose -> Store.Append, synced -> Run.Apply
//
// Start with Begin or Continue, then Session.Drive.
package session
