package cli

import (
	"context"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"testing"

	"dropwalk/cmd/internal/session"
	"dropwalk/engine/quantity"
	"dropwalk/engine/record"
	"dropwalk/engine/strictyaml"
)

func TestExitCode(t *testing.T) {
	_, missing := os.Open(filepath.Join(t.TempDir(), "none"))
	tests := []struct {
		name string
		err  error
		want int
	}{
		{"nothing wrong", nil, 0},
		{"somebody else's fault", errors.New("the cable is out"), 1},
		{"disk full", fmt.Errorf("here: %w", record.ErrFull), 1},
		{"in use", fmt.Errorf("here: %w", record.ErrLocked), 1},
		{"not allowed", &fs.PathError{Op: "open", Path: "x", Err: fs.ErrPermission}, 1},
		{"usage", &usageError{"what", "hint"}, 2},
		{"no such file", plainPath(missing), 2},
		{"no such record", input(errors.New("no record"), ""), 2},
		{"faults of a sheet", strictyaml.Faults{{What: "x"}}, 2},
		{"faults, shown already", shown(strictyaml.Faults{{What: "x"}}), 2},
		{"a number", &quantity.Fault{What: "x"}, 2},
		{"a doubtful number", conversionError(&quantity.Ambiguous{Text: "1,250"}), 2},
		{"a damaged record", fmt.Errorf("here: %w", record.ErrReadOnly), 2},
		{"no record at all", record.ErrNotRecord, 2},
		{"pause", session.ErrPause, 3},
		{"pause, shown already", shown(session.ErrPause), 3},
		{"a signal", shown(context.Canceled), 3},
		{"not confirmed", errNotConfirmed, 3},
		{"full while locked out of a pause", &hinted{record.ErrFull, "hint"}, 1},
	}
	for _, tt := range tests {
		if got := exitCode(tt.err); got != tt.want {
			t.Errorf("%s: exitCode(%v) = %d, want %d", tt.name, tt.err, got, tt.want)
		}
	}
}

func TestHintOf(t *testing.T) {
	for want, err := range map[string]error{
		"":      errors.New("x"),
		"this":  &hinted{errors.New("x"), "this"},
		"that":  fmt.Errorf("here: %w", &usageError{"x", "that"}),
		"outer": &hinted{&usageError{"x", "inner"}, "outer"},
	} {
		if got := hintOf(err); got != want {
			t.Errorf("hintOf(%v) = %q, want %q", err, got, want)
		}
	}
}
