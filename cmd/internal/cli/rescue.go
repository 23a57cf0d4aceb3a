package cli

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"dropwalk/engine/record"
)

// stuck says what became of a test whose record takes no more answers, and how
// it goes on. log is nil where no record was made yet.
func (a *app) stuck(log *record.Log, err error) error {
	switch {
	case log == nil && errors.Is(err, record.ErrFull), log == nil && errors.Is(err, errUnsavedFull):
		return &hinted{err, "make room on the disk, then do it again; nothing was kept"}
	case log == nil:
		return &hinted{err, "nothing was answered, so nothing was kept"}
	case errors.Is(err, record.ErrChanged):
		return a.rescue(log)
	}
	return &hinted{err, "what was answered before is saved: " + a.command("resume", quoted(log.Name()))}
}

// missing tells whether a record lies no longer where it was when its test is
// left, and writes it anew. It is nil where all is well.
func (a *app) missing(log *record.Log) error {
	if _, err := os.Stat(log.Path()); errors.Is(err, fs.ErrNotExist) {
		return a.rescue(log)
	}
	return nil
}

// rescue writes a record anew whose file was deleted, moved or altered while
// the test ran: the open file still has every line that was acknowledged.
func (a *app) rescue(log *record.Log) error {
	what := log.Path() + " was changed by something else while the test ran"
	to, err := log.Path(), error(nil)
	if _, gone := os.Stat(to); errors.Is(gone, fs.ErrNotExist) {
		what = log.Path() + " was deleted or moved while the test ran"
		err = os.MkdirAll(filepath.Dir(to), 0o700)
	} else {
		to, err = a.freeCopy(log)
	}
	if err == nil {
		err = log.SaveTo(to)
	}
	if err != nil {
		return &hinted{fmt.Errorf("%s, and it can't be written anew: %v; what was answered in it is lost unless the file turns up%w", what, err, silent{record.ErrChanged}),
			"look for the file where it was put; else begin anew: " + a.command("start")}
	}
	return &hinted{fmt.Errorf("%s; everything up to the last answer is written anew as %s%w", what, to, silent{record.ErrChanged}),
		"only the last answer has to be given again: " + a.command("resume", quoted(record.Name(to)))}
}

// freeCopy is a path for a copy beside a record.
func (a *app) freeCopy(log *record.Log) (string, error) {
	env, err := a.world()
	if err != nil {
		return "", err
	}
	dir := filepath.Dir(log.Path())
	name, err := record.FreeName(dir, record.NameFrom(log.Name()), env)
	return record.Path(dir, name), err
}

// ready makes sure that records can be written to dir before the first question
// is asked. It leaves nothing behind and makes no folder.
func (a *app) ready(dir string) error {
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		info, err := os.Stat(d)
		if errors.Is(err, fs.ErrNotExist) && d != filepath.Dir(d) {
			continue
		}
		if err == nil && !info.IsDir() {
			err = fmt.Errorf("%q is a file", d)
		}
		if err == nil {
			err = writable(d)
		}
		if err != nil {
			return &hinted{fmt.Errorf("no record can be kept in %s: %w", dir, err), "--dir FOLDER takes another folder; nothing was asked yet"}
		}
		return nil
	}
}

// writable makes a file in dir and takes it away again.
func writable(dir string) error {
	f, err := os.CreateTemp(dir, ".dropwalk-*")
	if err != nil {
		if p, ok := errors.AsType[*fs.PathError](err); ok {
			return fmt.Errorf("%s: %w", dir, p.Err)
		}
		return err
	}
	return errors.Join(f.Close(), os.Remove(f.Name()))
}
