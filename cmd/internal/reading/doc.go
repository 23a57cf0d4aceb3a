// Package reading sets pages that people read at length: reports, procedures
// and the topics of the help.
//
// The layout is that of terminal.Plain, to the character. On a terminal that
// wants it, headings, emphasis, code and addresses are set off as well; what
// they look like is found by a Markdown library, which is used here only. A
// page without its looks is the plain page, so that nothing can vanish, and
// nothing is told by looks alone.
//
// Nobody here reads from the terminal or asks it anything: the looks are chosen
// to be readable on a dark and on a light ground.
//
// Start with Write.
package reading
