// Package terminal is where the program meets a person's screen and keyboard.
// It asks in plain lines, sets text in the width there is, and keeps hostile
// text away from the terminal's controls. It decides nothing about a test and
// knows no commands.
//
// Manners of this package:
//
//   - results go to standard output, prompts and everything else to standard error;
//   - nothing is repainted and no escape is written: what was on the screen stays;
//   - a caution stands above its step, its signal word first, on the same screen;
//   - nothing is told by colour or by a mark alone;
//   - text that came from a file or a person passes Clean before it is shown.
//
// Start with Open, then NewLines.
package terminal
