// Package procedures holds the procedures that ship with the program, and
// nothing else. They are read by package engine, like anybody's own.
package procedures

import "embed"

// FS has one YAML file a procedure, named after it.
//
//go:embed *.yaml
var FS embed.FS
