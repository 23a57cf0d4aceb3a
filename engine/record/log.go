package record

import (
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"time"
)

// Log is a record that is open for writing. Its methods may be called from
// several goroutines.
type Log struct {
	mu       sync.Mutex
	env      Env
	path     string
	header   Header
	file     File // nil once it is no longer trusted
	unlock   func() error
	begin    time.Duration // of env.Mono, when the record was opened
	size     int64         // end of the last acknowledged line
	seq      int           // its number
	sum      uint32        // its checksum
	dirty    bool          // bytes that nobody was promised may stand behind size
	doubtful bool          // a sync or a cut failed: the file must be written anew
	closed   bool
	warnings []Finding
}

// Create makes a record in dir, which is made if need be, and takes its lock.
// It returns once the header is on the disk. The error wraps ErrName, ErrExists
// (names differ in more than case), ErrLocked or ErrFull, or is that of the file
// system; nothing is left behind then.
func Create(dir, name string, h Header, env Env) (*Log, error) {
	if err := CheckName(name); err != nil {
		return nil, err
	}
	env = env.filled()
	if err := makeDir(env.FS, dir); err != nil {
		return nil, err
	}
	l, err := newLog(env, Path(dir, name))
	if err != nil {
		return nil, err
	}
	if err := l.create(h); err != nil {
		l.Close()
		return nil, err
	}
	return l, nil
}

// newLog takes the lock.
func newLog(env Env, path string) (*Log, error) {
	unlock, warning, err := lock(env, stem(path))
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	l := &Log{env: env, path: path, unlock: unlock, begin: env.Mono()}
	if warning != nil {
		l.warnings = append(l.warnings, *warning)
	}
	return l, nil
}

func (l *Log) create(h Header) error {
	l.env.trap.at(createLocked)
	taken, err := takenNames(l.env.FS, filepath.Dir(l.path))
	if err != nil {
		return err
	}
	if taken[strings.ToLower(Name(l.path))] {
		return fmt.Errorf("%s: %w", l.path, ErrExists)
	}
	if l.header, err = l.complete(h); err != nil {
		return err
	}
	l.file, err = l.env.FS.OpenFile(l.path, os.O_RDWR|os.O_APPEND|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		err = ErrExists
	}
	if err != nil {
		return fmt.Errorf("%s: %w", l.path, err)
	}
	l.env.trap.at(createEmpty)
	if _, err = l.append(HeaderKind, l.header); err == nil {
		err = l.env.FS.SyncDir(filepath.Dir(l.path))
	}
	l.env.trap.at(createNamed)
	if err != nil {
		l.shut()
		l.env.FS.Remove(l.path)
		return fmt.Errorf("%s: not created: %w", l.path, err)
	}
	return nil
}

// complete fills in what the caller left empty.
func (l *Log) complete(h Header) (Header, error) {
	h.Format = Format
	if h.Created.IsZero() {
		h.Created = l.env.Now()
	}
	h.Created = stored(h.Created)
	if h.Zone == "" {
		h.Zone, _ = l.env.Now().Zone()
	}
	var err error
	if h.ID == "" {
		h.ID, err = newID(l.env.Random)
	}
	return h, err
}

// stored brings a time to what the file keeps of it.
func stored(t time.Time) time.Time {
	if t.Year() < 1 || t.Year() > 9999 {
		return time.Unix(0, 0).UTC() // RFC 3339 has four digits; an answer must not fail on account of a clock
	}
	_, offset := t.Zone()
	t = t.Round(0).Truncate(time.Millisecond)
	// Offsets stand in the file in whole minutes.
	if offset = offset / 60 * 60; offset == 0 {
		return t.UTC()
	}
	return t.In(time.FixedZone("", offset))
}

// makeDir makes dir and every folder above it that is missing, for the user
// alone, and syncs the folders in which names were made.
func makeDir(fsys FS, dir string) error {
	var missing []string
	for d := filepath.Clean(dir); ; d = filepath.Dir(d) {
		if _, err := fsys.Stat(d); !errors.Is(err, fs.ErrNotExist) || d == filepath.Dir(d) {
			break
		}
		missing = append(missing, d)
	}
	if err := fsys.MkdirAll(dir, 0o700); err != nil {
		return err
	}
	for _, d := range missing {
		if err := fsys.SyncDir(filepath.Dir(d)); err != nil {
			return err
		}
	}
	return nil
}

// takenNames returns the names of the records in dir in lower case: some file
// systems don't tell the cases apart, and a folder may be moved to one.
func takenNames(fsys FS, dir string) (map[string]bool, error) {
	entries, err := fsys.ReadDir(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, nil
	}
	taken := map[string]bool{}
	for _, e := range entries {
		if name, ok := strings.CutSuffix(e.Name(), Ext); ok {
			taken[strings.ToLower(name)] = true
		}
	}
	return taken, err
}

// Append adds a line and returns it once the disk has it. kind is a word of
// a-z, 0-9 and -; body is anything that encoding/json can encode into at most
// MaxBody bytes.
//
// After an error nothing was added and the same Append may be tried again,
// unless the error wraps ErrBody or ErrClosed. (If the process ends before that,
// the line may be found in the file all the same: an error means "not confirmed".)
func (l *Log) Append(kind string, body any) (Line, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	if kind == HeaderKind || !goodKind(kind) {
		return Line{}, fmt.Errorf("%w: %q is no kind of line", ErrBody, kind)
	}
	line, err := l.append(kind, body)
	if err != nil {
		return Line{}, fmt.Errorf("%s: not saved: %w", l.path, err)
	}
	return line, nil
}

func (l *Log) append(kind string, body any) (Line, error) {
	if l.closed {
		return Line{}, ErrClosed
	}
	e, data, err := l.next(kind, body)
	if err != nil {
		return Line{}, err
	}
	l.env.trap.at(appendStart)
	if l.doubtful {
		err = l.rewrite(e, data)
	} else {
		err = l.write(e, data)
	}
	if err != nil {
		return Line{}, worded(err)
	}
	l.seq, l.sum, l.size = e.Seq, e.sum, l.size+int64(len(data))
	return e.Line, nil
}

// next composes the next line.
func (l *Log) next(kind string, body any) (*entry, []byte, error) {
	raw, err := encodeBody(body)
	if err != nil {
		return nil, nil, err
	}
	id, err := newID(l.env.Random)
	if err != nil {
		return nil, nil, err
	}
	e := &entry{prev: l.sum, Line: Line{Seq: l.seq + 1, Time: stored(l.env.Now()),
		Mono: (l.env.Mono() - l.begin).Milliseconds(), Kind: kind, Body: raw, ID: id, Version: Format}}
	data := encode(e)
	if l.size+int64(len(data)) > MaxFile {
		return nil, nil, fmt.Errorf("%w: the record would grow beyond %d bytes", ErrBody, MaxFile)
	}
	return e, data, nil
}

// write appends data in one write and syncs it.
func (l *Log) write(e *entry, data []byte) error {
	if err := l.settle(); err != nil {
		return err
	}
	if l.env.trap.next(appendHalf) {
		l.file.Write(data[:len(data)/2])
	}
	l.env.trap.at(appendHalf)
	l.dirty = true
	if err := writeAll(l.file, data); err != nil {
		return also(err, l.settle())
	}
	l.env.trap.at(appendWritten)
	if err := l.file.Sync(); err != nil {
		l.doubtful = true
		l.shut()
		return l.rewriteAfter(err, e, data)
	}
	l.env.trap.at(appendSynced)
	// A line in a file that nobody can find again isn't saved.
	if err := l.inPlace(); err != nil {
		return err
	}
	l.dirty = false
	return nil
}

// settle makes sure that the file is the one that was opened and ends where the
// last acknowledged line ends, and cuts off what a failed write left.
func (l *Log) settle() error {
	if err := l.inPlace(); err != nil {
		return err
	}
	info, err := l.file.Stat()
	if err != nil {
		return err
	}
	switch {
	case info.Size() == l.size:
		l.dirty = false
	case info.Size() > l.size && l.dirty:
		if err := cut(l.env, l.path, l.size); err != nil {
			l.doubtful = true
			l.shut()
			return err
		}
		l.dirty = false
	default:
		return fmt.Errorf("%w: it has %d bytes, expected %d", ErrChanged, info.Size(), l.size)
	}
	return nil
}

// inPlace reports an error unless the path still leads to the open file.
func (l *Log) inPlace() error {
	ours, err := l.file.Stat()
	if err != nil {
		return err
	}
	there, err := l.env.FS.Stat(l.path)
	if err != nil {
		return fmt.Errorf("%w: %w", ErrChanged, err)
	}
	if !os.SameFile(ours, there) {
		return fmt.Errorf("%w: another file stands in its place", ErrChanged)
	}
	return nil
}

// cut shortens a file through a handle of its own, since one that appends can't
// do it on Windows.
func cut(env Env, path string, size int64) error {
	f, err := env.FS.OpenFile(path, os.O_RDWR, 0)
	if err != nil {
		return err
	}
	err = f.Truncate(size)
	if err == nil {
		env.trap.at(tailCut)
		err = f.Sync()
	}
	return also(err, f.Close())
}

// rewriteAfter tries at once to save the line in another way after a sync has
// failed with cause.
func (l *Log) rewriteAfter(cause error, e *entry, data []byte) error {
	if err := l.rewrite(e, data); err != nil {
		return fmt.Errorf("%w: %w; the attempt to write a new file failed: %w", ErrNoSync, cause, err)
	}
	return nil
}

// rewrite builds a new file from what can be read and proved of the old one and
// the new line. The old file stays beside it: what the disk really holds of it
// is not known. A line that failed before and was not acknowledged is left out,
// because the caller tries it again.
func (l *Log) rewrite(e *entry, data []byte) error {
	old, err := l.saved()
	if err != nil {
		return err
	}
	keep := sidePath(l.path, keptExt, l.env.Now(), e.ID)
	if err := replace(l.env, l.path, append(old, data...), 0o600, keep); err != nil {
		return err
	}
	if err := l.reopen(); err != nil {
		return err
	}
	l.doubtful, l.dirty = false, false
	l.warnings = append(l.warnings, Finding{Line: e.Seq, Level: Warning,
		What: "the disk failed in the middle of a write, so the record was written anew; the old file is kept as " + filepath.Base(keep),
		Do:   "copy your records to another disk and have this one checked"})
	return nil
}

func (l *Log) reopen() (err error) {
	l.file, err = l.env.FS.OpenFile(l.path, os.O_RDWR|os.O_APPEND, 0)
	return err
}

// shut closes the file; its bytes are on the disk or in doubt already, so a
// fault in closing tells nothing new.
func (l *Log) shut() {
	if l.file != nil {
		l.file.Close()
		l.file = nil
	}
}

// Close closes the file and gives the lock back. Every acknowledged line is on
// the disk before that; Close saves nothing. A second Close does nothing.
func (l *Log) Close() error {
	l.mu.Lock()
	defer l.mu.Unlock()
	if l.closed {
		return nil
	}
	l.closed = true
	l.shut()
	l.env.trap.at(closeStart)
	return l.unlock()
}

// Path returns where the record stands.
func (l *Log) Path() string { return l.path }

// Name returns the name of the record.
func (l *Log) Name() string { return Name(l.path) }

// Header returns the header as it stands in the file.
func (l *Log) Header() Header { return l.header }

// Seq returns the number of the last acknowledged line; the header is 1.
func (l *Log) Seq() int {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.seq
}

// Warnings returns what the user should know about the lock and the disk, so
// far. It may grow with each Append.
func (l *Log) Warnings() []Finding {
	l.mu.Lock()
	defer l.mu.Unlock()
	return append([]Finding(nil), l.warnings...)
}

// SaveTo copies the acknowledged lines to a new file, for the time when the
// folder of the record is gone or its disk has failed. The file must not exist.
// What is copied is read from the open file or, where that is no longer
// trusted, from its path, and proved first.
func (l *Log) SaveTo(path string) error {
	l.mu.Lock()
	defer l.mu.Unlock()
	data, err := l.saved()
	if err != nil {
		return err
	}
	if err := writeNew(l.env, path, data, 0o600, ""); err != nil {
		return err
	}
	return l.env.FS.SyncDir(filepath.Dir(path))
}

// saved reads the acknowledged lines back and proves them.
func (l *Log) saved() ([]byte, error) {
	data, err := l.readBack()
	if err != nil {
		return nil, fmt.Errorf("%w: %w", ErrChanged, err)
	}
	if int64(len(data)) < l.size {
		return nil, fmt.Errorf("%w: it has %d bytes, expected %d", ErrChanged, len(data), l.size)
	}
	data = data[:l.size:l.size]
	if s := scan(l.path, data, false); len(s.sums) != l.seq || l.seq > 0 && s.sums[l.seq-1] != l.sum {
		return nil, fmt.Errorf("%w: of %d saved lines %d can be read back", ErrChanged, l.seq, len(s.sums))
	}
	return data, nil
}

func (l *Log) readBack() ([]byte, error) {
	if l.file != nil {
		return readAll(l.file)
	}
	return readFile(l.env.FS, l.path)
}
