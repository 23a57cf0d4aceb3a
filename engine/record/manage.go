package record

import (
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"strings"
)

func isMissing(err error) bool { return errors.Is(err, fs.ErrNotExist) }

// Rename gives the record at path, with its side files, another name in the same
// folder and returns its new path. The error wraps ErrName, ErrExists or
// ErrLocked, or is that of the file system.
func Rename(path, name string, env Env) (string, error) {
	if err := CheckName(name); err != nil {
		return "", err
	}
	env = env.filled()
	dir := filepath.Dir(path)
	to := Path(dir, name)
	if _, err := env.FS.Stat(path); err != nil {
		return "", err
	}
	if Name(path) == name {
		return path, nil
	}
	release, err := lockBoth(env, path, to)
	if err != nil {
		return "", err
	}
	err = rename(env, path, to)
	return to, also(err, release())
}

// lockBoth keeps writers off the record and creators off its new name.
func lockBoth(env Env, path, to string) (func() error, error) {
	unlock, _, err := lock(env, stem(path))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	if strings.EqualFold(path, to) {
		return unlock, nil // on some file systems it is the same lock file
	}
	unlockTo, _, err := lock(env, stem(to))
	if err != nil {
		return nil, also(fmt.Errorf("%s: %w", to, err), unlock())
	}
	return func() error { return also(unlockTo(), unlock()) }, nil
}

func rename(env Env, path, to string) error {
	env.trap.at(renameStart)
	taken, err := takenNames(env.FS, filepath.Dir(path))
	if err != nil {
		return err
	}
	if taken[strings.ToLower(Name(to))] && !strings.EqualFold(path, to) {
		return fmt.Errorf("%s: %w", to, ErrExists)
	}
	sides := sideFiles(env.FS, path)
	if err := env.FS.Rename(path, to); err != nil {
		return err
	}
	env.trap.at(renameMoved)
	for _, side := range sides {
		from := filepath.Join(filepath.Dir(path), side)
		if err := env.FS.Rename(from, stem(to)+strings.TrimPrefix(from, stem(path))); err != nil {
			return err
		}
	}
	return env.FS.SyncDir(filepath.Dir(to))
}

// Remove deletes the record at path, its side files and its lock, for good, and
// nothing else. The record goes last, so that a removal that was cut off can be
// asked for again. The error wraps ErrLocked, or is that of the file system. A
// file that is no record is not removed: ErrNotRecord.
func Remove(path string, env Env) (err error) {
	env = env.filled()
	if err := removable(env.FS, path); err != nil {
		return err
	}
	unlock, _, err := lock(env, stem(path))
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	defer func() { err = also(err, unlock()) }()
	env.trap.at(removeStart)
	for _, side := range sideFiles(env.FS, path) {
		if err := env.FS.Remove(filepath.Join(filepath.Dir(path), side)); err != nil && !isMissing(err) {
			return err
		}
	}
	env.trap.at(removeSides)
	if err := env.FS.Remove(path); err != nil {
		return err
	}
	env.trap.at(removeGone)
	return env.FS.SyncDir(filepath.Dir(path))
}

func removable(fsys FS, path string) error {
	if !strings.HasSuffix(path, Ext) {
		return fmt.Errorf("%s: %w: its name doesn't end in %s", path, ErrNotRecord, Ext)
	}
	data, err := readFile(fsys, path)
	if err != nil {
		return err
	}
	if scan(path, data, false).alien(data) {
		return fmt.Errorf("%s: %w", path, ErrNotRecord)
	}
	return nil
}
