// Package classroom knows the files of a class: its folder, its roster, and what the
// groups hand in. It knows records as the bytes that they are, and nothing of cars.
//
// Start with New, which makes the folder; Open reads it; Pack makes a file to hand in;
// Collect looks at all that came in.
//
//	code.go     codes of six characters, to be written on paper
//	roster.go   the list of people, as a table
//	folder.go   the folder of a class
//	roles.go    who drives on which run
//	handin.go   one file that is handed in
//	collect.go  what came in, what is wrong with it, and what counts
//
// A file that is handed in is text: a line of JSON that says what it is, the record
// byte for byte, and that line once more, so that neither a cut nor a bad byte takes
// the name of the group away. No network is needed: a shared folder or a stick will do.
package classroom
