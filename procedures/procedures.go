// Package procedures holds the procedures that ship with the program and the
// blocks of steps that they share, and nothing else. Package insert puts the
// blocks in, package engine reads what comes out, like anybody's own.
package procedures

import "embed"

// FS has one YAML file a procedure, named after it, and one a block under
// shared.
//
//go:embed *.yaml shared/*.yaml
var FS embed.FS
