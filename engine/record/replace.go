package record

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"syscall"
)

// ReplaceFile writes a file so that its path leads to the old bytes or to all
// of the new ones at every moment, and to the new ones once it returns. A
// symbolic link is replaced, not followed. It is for files that a user asks for,
// such as reports; a record is never written in this way except after a failed
// sync and by Repair. An error names path, never the file on the way to it.
func ReplaceFile(path string, data []byte, perm fs.FileMode, env Env) error {
	return replace(env.filled(), path, data, perm, "")
}

// replace writes data to a new file, syncs it and renames it over path. Where
// keep is not empty, the old file stays under that name.
func replace(env Env, path string, data []byte, perm fs.FileMode, keep string) error {
	switch info, err := env.FS.Stat(path); {
	case err == nil && info.IsDir():
		return &fs.PathError{Op: "write", Path: path, Err: syscall.EISDIR}
	case err == nil && !info.Mode().IsRegular():
		return fmt.Errorf("%s is no file", path)
	}
	id, err := newID(env.Random)
	if err != nil {
		return err
	}
	temp := stem(path) + newExt + id
	if err := writeFile(env, temp, data, perm, replaceHalf); err != nil {
		return worded(called(err, path))
	}
	env.trap.at(replaceReady)
	if keep != "" {
		if err := keepOld(env, path, keep); err != nil {
			env.FS.Remove(temp)
			return err
		}
		env.trap.at(replaceKept)
	}
	if err := env.FS.Rename(temp, path); err != nil {
		env.FS.Remove(temp)
		return err
	}
	env.trap.at(replaceRenamed)
	err = env.FS.SyncDir(filepath.Dir(path))
	env.trap.at(replaceDone)
	return err
}

// keepOld gives the file at path a second name. Where the file system has no
// links it gets a copy: a rename would leave a moment without a record.
func keepOld(env Env, path, keep string) error {
	err := env.FS.Link(path, keep)
	if err == nil || errors.Is(err, fs.ErrExist) || errors.Is(err, fs.ErrNotExist) {
		return err
	}
	data, err := readFile(env.FS, path)
	if err != nil {
		return err
	}
	return writeNew(env, keep, data, 0o600, "")
}

// writeNew is writeFile with an error for people.
func writeNew(env Env, name string, data []byte, perm fs.FileMode, half string) error {
	return worded(writeFile(env, name, data, perm, half))
}

// writeFile creates, fills and syncs a file that must not exist. On any fault
// nothing is left behind. half is the failpoint in the middle of the data.
func writeFile(env Env, name string, data []byte, perm fs.FileMode, half string) error {
	f, err := env.FS.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, perm)
	if err != nil {
		return err
	}
	if env.trap.next(half) {
		f.Write(data[:len(data)/2])
	}
	env.trap.at(half)
	err = writeAll(f, data)
	if err == nil {
		err = f.Sync()
	}
	if err = also(err, f.Close()); err != nil {
		env.FS.Remove(name)
		return err
	}
	return nil
}

// called is err with a path in it that a user knows.
func called(err error, path string) error {
	if p, ok := errors.AsType[*fs.PathError](err); ok && strings.HasPrefix(p.Path, stem(path)+newExt) {
		p.Path = path
	}
	return err
}

func writeAll(w io.Writer, data []byte) error {
	n, err := w.Write(data)
	if err == nil && n < len(data) {
		err = io.ErrShortWrite
	}
	return err
}

// worded puts ErrFull before an error that means a full disk.
func worded(err error) error {
	if isFull(err) && !errors.Is(err, ErrFull) {
		return fmt.Errorf("%w: free some space and try again: %w", ErrFull, err)
	}
	return err
}

// also puts a second fault behind the first on the same line.
func also(err, second error) error {
	switch {
	case second == nil:
		return err
	case err == nil:
		return second
	}
	return fmt.Errorf("%w; %w", err, second)
}
