// Package cli is the command tree: one file a command, one table from error to
// exit code (exit.go), one page a help topic (help/*.md). A command checks what
// it was given, calls the package that knows the work, and prints; it decides
// nothing about tests.
//
// Start with Main and root. To add a command, write a method of app that
// returns it and list it in root.
package cli
