// Package lesson puts a learner at a simulated car. The procedure, its prompts
// and its askers are those of a real test; what a person would see at the car
// stands above each prompt, and what was made of it is told at the end.
//
// A Bench is fed with the events of a run, from its store or from its record,
// and says what there is to see at a prompt (Seen). Asker shows it and coaches;
// Player answers as a careful tester who follows the program's advice would;
// Debrief sets the learner's path beside the truth. Nothing here ends up on a
// test sheet unless somebody types it.
package lesson
