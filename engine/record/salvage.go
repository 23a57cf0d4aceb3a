package record

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"strings"
)

// ErrNothing says that no line of a record can be saved, or that none needs to
// be.
var ErrNothing = errors.New("there is nothing to save")

// Salvage makes a new record, beside the one at path and with the name given,
// of the lines that are proved: those before the first bad place, byte for byte
// with their times and checksums. The old file is not touched. It returns the
// path of the new record.
//
// The error wraps ErrNothing where the record is sound, Repair can mend it, or
// no line is proved; ErrReadOnly where it belongs to a later release; ErrName,
// ErrExists or ErrLocked; or is that of the file system.
func Salvage(path, name string, env Env) (to string, err error) {
	if err := CheckName(name); err != nil {
		return "", err
	}
	env = env.filled()
	data, err := readFile(env.FS, path)
	if err != nil {
		return "", err
	}
	sound, err := provedPart(path, data)
	if err != nil {
		return "", fmt.Errorf("%s: %w", path, err)
	}
	to = Path(filepath.Dir(path), name)
	unlock, _, err := lock(env, stem(to))
	if err != nil {
		return "", fmt.Errorf("%s: %w", to, err)
	}
	defer func() { err = also(err, unlock()) }()
	taken, err := takenNames(env.FS, filepath.Dir(to))
	if err != nil {
		return "", err
	}
	if taken[strings.ToLower(name)] {
		return "", fmt.Errorf("%s: %w", to, ErrExists)
	}
	if err := writeNew(env, to, sound, 0o600, ""); errors.Is(err, os.ErrExist) {
		return "", fmt.Errorf("%s: %w", to, ErrExists)
	} else if err != nil {
		return "", err
	}
	return to, env.FS.SyncDir(filepath.Dir(to))
}

// provedPart returns the proved lines of a damaged record, in plain form.
func provedPart(path string, data []byte) ([]byte, error) {
	s := scan(path, data, false)
	_, unmendable := mend(path, data)
	switch {
	case s.alien(data):
		return nil, ErrNotRecord
	case s.Newer > 0:
		return nil, fmt.Errorf("%w: it belongs to a later release", ErrReadOnly)
	case s.refusal() == nil || unmendable == nil:
		return nil, fmt.Errorf("%w: every line can be kept where it is", ErrNothing)
	case len(s.sums) == 0:
		return nil, fmt.Errorf("%w: no line stands before the damage", ErrNothing)
	}
	out := plainLines(data[:s.good])
	if n := scan(path, out, false); n.refusal() != nil || len(n.sums) != len(s.sums) {
		return nil, fmt.Errorf("%w: the lines don't follow from each other", ErrReadOnly)
	}
	return out, nil
}
