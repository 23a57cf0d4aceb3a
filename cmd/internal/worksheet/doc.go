// Package worksheet makes a paper of a procedure: what the screen asks, under
// the same numbers, with boxes to tick, lines to write numbers on and places for
// initials. What is written on it is typed in afterwards.
//
// The paper is Markdown whose boxes and blanks are code within a line. HTML turns
// those into something that a pencil fits, Text sets the same in pages of plain
// text. Start with Markdown.
package worksheet
