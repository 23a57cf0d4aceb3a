package cli

import (
	"fmt"

	"dropwalk/engine/record"
)

// savedMode is the mode of a file that is written on request: like any document
// of the user.
const savedMode = 0o644

// save writes a result to a file. An old file is replaced at one stroke.
func (a *app) save(path string, text []byte) error {
	env, err := a.world()
	if err != nil {
		return err
	}
	if err := record.ReplaceFile(path, text, savedMode, env); err != nil {
		return plainPath(err)
	}
	fmt.Fprintf(a.Err, "written to %s\n", path)
	return nil
}
