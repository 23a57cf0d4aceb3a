// Package prompts asks on a real terminal, where a line can be edited and
// completed. It is the one door to the library survey, and stands clear of what
// that library does wrong.
//
// What is asked, what a line means and what the screen says is package
// terminal's: an Asker differs from terminal.Lines only in how a line is typed.
// So the same lines come to the same events.
//
// Every prompt is an Input whose list opens with Tab: the choices of the prompt
// and the words (help, back, pause, stop and so on), moved through with the
// arrows. Neither Select nor Confirm is used: a Select takes its filter for the
// only thing that is typed, so that pause or "12.5 kPa" can't be typed at it; it
// hangs where the filter fits nothing; and Enter at either takes what happens to
// be marked. Here Enter takes what is typed, and what opens a hold is in no list.
//
// Manners of the door:
//
//   - The terminal is never asked where its cursor is: not every terminal
//     answers, and the wait has no end. Its width comes from the operating
//     system, the column from what was written.
//   - One key at a time comes in. Codes of keys that mean nothing here, late
//     replies of the terminal and the marks of a paste are taken out whole. A
//     paste never answers by itself: line breaks in it become blanks.
//   - Ctrl-D and the end of input pause; what is half typed is no answer.
//   - Ctrl-C ends the sitting as an interrupt does.
//   - The library reads in the goroutine that asks. A done context ends the read,
//     and the terminal is set as it was before anything else happens.
//   - Nothing above the line is erased, whatever the window's size does.
//   - Each line gets a prompt value of its own, and gives a string.
//
// On Windows the library reads the console by itself and takes Ctrl-D for Enter;
// nothing can be put between. Usable refuses Windows, and so mintty too.
package prompts
