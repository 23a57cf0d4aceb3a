package cli

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"dropwalk/engine/strictyaml"
)

// In a folder to learn from may lie what is no file: it is named, and not waited for.
func TestLearnWaitsForNoPipe(t *testing.T) {
	dir := t.TempDir()
	if err := os.Symlink(os.DevNull, filepath.Join(dir, "odd.yaml")); err != nil {
		t.Skip("no links here: ", err)
	}
	code, _, errs := tried(t, "", "learn", dir)
	if code != exitInput || !strings.Contains(errs, "odd.yaml: it is no plain file") {
		t.Errorf("it ends with %d: %s", code, errs)
	}
}

// Of what somebody names as a file by hand no more is read than tells that it is too
// large: a device never ends.
func TestReadingByHandIsBounded(t *testing.T) {
	path := filepath.Join(t.TempDir(), "big")
	if err := os.WriteFile(path, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.Truncate(path, 1<<32); err != nil {
		t.Skip("no room for a large file: ", err)
	}
	src, err := readBounded(path)
	if err != nil || len(src) != strictyaml.MaxBytes+1 {
		t.Errorf("%d bytes are read, %v; want %d", len(src), err, strictyaml.MaxBytes+1)
	}
	for _, args := range [][]string{{"class", "new", path + "-class", "--roster", path}, {"assess", "x.yaml", "--priors", path}, {"assess", "x.yaml", "--costs", path}} {
		if code, _, errs := tried(t, "", args...); code != exitInput || !strings.Contains(errs, "expected at most") {
			t.Errorf("%v ends with %d: %s", args, code, errs)
		}
	}
}
