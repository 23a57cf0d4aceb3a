package record

import (
	"fmt"
	"path/filepath"
	"strings"
)

// Open goes on with a record: it takes the lock, proves every line, sets a torn
// tail aside and returns what it read. Faults of the file itself come as
// *ReadOnlyError with the content; the error may also wrap ErrLocked,
// ErrNoHeader, ErrNotRecord, ErrFull or ErrNoSync, or be that of the file system
// (in a folder that can't be written to not even a lock can be taken; View works
// there). After an error nothing
// is locked, and nothing was changed but for a torn tail that was copied.
func Open(path string, env Env) (*Log, *Recovery, error) {
	env = env.filled()
	if _, err := env.FS.Stat(path); err != nil { // or the lock file would be made for nothing
		return nil, nil, err
	}
	l, err := newLog(env, path)
	if err != nil {
		return nil, nil, err
	}
	rec, err := l.open()
	if err != nil {
		l.Close()
		return nil, nil, err
	}
	return l, rec, nil
}

func (l *Log) open() (*Recovery, error) {
	l.env.trap.at(openLocked)
	data, err := readFile(l.env.FS, l.path)
	if err != nil {
		return nil, err
	}
	s := scan(l.path, data, true)
	if s.alien(data) {
		return nil, fmt.Errorf("%s: %w", l.path, ErrNotRecord)
	}
	s.stat(l.env.FS)
	if why := s.refusal(); why != nil {
		return nil, &ReadOnlyError{Path: l.path, Why: *why, Content: s.Content}
	}
	if len(s.sums) == 0 {
		return nil, fmt.Errorf("%s: %w: it was cut off while it was being created, before anything was saved in it; remove it", l.path, ErrNoHeader)
	}
	l.header, l.seq, l.sum, l.size = s.Header, len(s.sums), s.sums[len(s.sums)-1], s.good
	rec := &Recovery{Content: s.Content}
	if err := l.repair(rec, data); err != nil {
		return nil, worded(err)
	}
	l.sweep()
	return rec, nil
}

// repair brings the end of the file into order and opens it.
func (l *Log) repair(rec *Recovery, data []byte) error {
	if rec.Torn != nil {
		if err := l.setAside(rec, data[l.size:]); err != nil {
			return err
		}
	}
	if err := l.reopen(); err != nil {
		return err
	}
	if rec.Unended {
		if err := writeAll(l.file, []byte("\n")); err != nil {
			return err
		}
		l.size++
		rec.Did = append(rec.Did, Finding{Line: l.seq, Level: Note, What: "its line feed was missing and has been put back; nothing is lost"})
	}
	// The last line may have been written and not synced when the process ended;
	// what the caller builds on from here must be on the disk.
	if err := l.file.Sync(); err != nil {
		return fmt.Errorf("%s: %w: %w", l.path, ErrNoSync, err)
	}
	return nil
}

// setAside copies the tail to a file of its own before it cuts it off: the
// process may end at any point, and the next Open does it again.
func (l *Log) setAside(rec *Recovery, tail []byte) error {
	id, err := newID(l.env.Random)
	if err != nil {
		return err
	}
	torn := sidePath(l.path, tornExt, l.env.Now(), id)
	if err := writeNew(l.env, torn, tail, 0o600, tailSaving); err != nil {
		return err
	}
	if err := l.env.FS.SyncDir(filepath.Dir(l.path)); err != nil {
		return err
	}
	l.env.trap.at(tailSaved)
	if err := cut(l.env, l.path, l.size); err != nil {
		return err
	}
	l.env.trap.at(tailDone)
	rec.Torn.MovedTo = torn
	rec.Did = append(rec.Did, Finding{Line: rec.Torn.Number, Level: Damage,
		What: fmt.Sprintf("the last line was not whole; its %d bytes were moved to %s", len(tail), filepath.Base(torn)),
		Do:   "enter that answer again"})
	return nil
}

// sweep removes what rewrites that were cut off left behind. Nothing in it is
// the only copy, and nobody else can be at it while we hold the lock.
func (l *Log) sweep() {
	for _, name := range sideFiles(l.env.FS, l.path) {
		if strings.HasPrefix(name, Name(l.path)+newExt) {
			l.env.FS.Remove(filepath.Join(filepath.Dir(l.path), name))
		}
	}
}

// sideFiles returns the names of the files that belong to the record at path,
// locks left out.
func sideFiles(fsys FS, path string) []string {
	entries, err := fsys.ReadDir(filepath.Dir(path))
	if err != nil {
		return nil
	}
	var names []string
	for _, e := range entries {
		rest, ok := strings.CutPrefix(e.Name(), Name(path))
		if ok && e.Type().IsRegular() && (strings.HasPrefix(rest, newExt) || strings.HasPrefix(rest, tornExt) || strings.HasPrefix(rest, keptExt)) {
			names = append(names, e.Name())
		}
	}
	return names
}

// stat adds the time of the last change.
func (c *Content) stat(fsys FS) {
	if info, err := fsys.Stat(c.Path); err == nil {
		c.Modified = info.ModTime()
	}
}

// View reads a record. It takes no lock, writes nothing and repairs nothing, so
// it also works on a file that another program has open, or that is damaged;
// what is wrong stands in the content. The error is that of the file system, or
// wraps ErrNotRecord where the file has nothing in common with a record, or says
// that it is too large for one.
func View(path string) (*Content, error) { return view(Disk{}, path) }

func view(fsys FS, path string) (*Content, error) {
	data, err := readFile(fsys, path)
	if err != nil {
		return nil, err
	}
	s := scan(path, data, true)
	if s.alien(data) {
		return nil, fmt.Errorf("%s: %w", path, ErrNotRecord)
	}
	s.stat(fsys)
	return s.Content, nil
}

// CanContinue returns nil if Open would accept the record as far as its bytes go,
// or the *ReadOnlyError or ErrNoHeader that it would return.
func (c *Content) CanContinue() error {
	if why := c.refusal(); why != nil {
		return &ReadOnlyError{Path: c.Path, Why: *why, Content: c}
	}
	if c.Header.Format == 0 {
		return fmt.Errorf("%s: %w", c.Path, ErrNoHeader)
	}
	return nil
}
