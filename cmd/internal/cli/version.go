package cli

import (
	"fmt"
	"runtime/debug"

	"dropwalk/engine/record"
)

// Versions of the formats that this release writes. Procedure, sheet and
// assessment say theirs in their first key.
const (
	procedureFormat  = 1
	sheetFormat      = 1
	assessmentFormat = 1
)

// version names the release and the formats that it reads and writes.
func version() string {
	return fmt.Sprintf("%s %s\nformats: procedure %d, sheet %d, assessment %d, record %d",
		program, release(), procedureFormat, sheetFormat, assessmentFormat, record.Format)
}

// release is the version as the Go toolchain stamped it.
func release() string {
	info, ok := debug.ReadBuildInfo()
	if !ok || info.Main.Version == "" {
		return "(unknown)"
	}
	return info.Main.Version
}
