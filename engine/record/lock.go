package record

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"strconv"
	"strings"
	"syscall"
	"time"

	"github.com/gofrs/flock"
)

// Lock takes the lock with flock or LockFileEx. The note stands behind the
// first byte, because Windows lets nobody read the byte that is locked.
func (Disk) Lock(name, note string) (func() error, error) {
	for range 10 {
		l := flock.New(name, flock.SetFlag(os.O_CREATE|os.O_RDWR), flock.SetPermissions(0o600))
		held, err := l.TryLock()
		switch {
		case errors.Is(err, errors.ErrUnsupported) || errors.Is(err, syscall.ENOLCK):
			return nil, fmt.Errorf("%w: %w", errors.ErrUnsupported, err)
		case err != nil:
			return nil, err
		case !held:
			return nil, fmt.Errorf("%w%s", ErrLocked, lockNote(name))
		}
		// The file may have been removed by its last holder between our opening
		// and locking it: then the lock holds nobody off, and we start again.
		if sameFile(l, name) {
			writeLockNote(name, note)
			return func() error { return releaseLock(l) }, nil
		}
		l.Unlock()
	}
	return nil, fmt.Errorf("%w: the lock file comes and goes", ErrLocked)
}

func sameFile(l *flock.Flock, name string) bool {
	ours, err1 := l.Stat()
	there, err2 := os.Stat(name)
	return err1 == nil && err2 == nil && os.SameFile(ours, there)
}

func releaseLock(l *flock.Flock) error {
	if unlinkFirst {
		os.Remove(l.Path()) // left over, it does no harm
		return l.Unlock()
	}
	err := l.Unlock()
	os.Remove(l.Path())
	return err
}

// writeLockNote helps those who find the lock taken. It locks nothing, so a full
// disk is no reason to fail.
func writeLockNote(name, note string) {
	if f, err := os.OpenFile(name, os.O_WRONLY, 0); err == nil {
		f.WriteAt([]byte(note+"\n"), 1)
		f.Close()
	}
}

// lockNote reads what the holder wrote. It is a help for the message and no
// more, so faults give an empty text.
func lockNote(name string) string {
	f, err := os.Open(name)
	if err != nil {
		return ""
	}
	defer f.Close()
	b := make([]byte, 200)
	n, _ := f.ReadAt(b, 1)
	note, _, _ := bytes.Cut(b[:n], []byte("\n"))
	h := parseHolder(string(note))
	return h.String()
}

// holder is what a lock file says about who made it.
type holder struct {
	pid     int
	since   string
	machine string // salted hash; the name of the machine is nobody's business
}

// String is empty for an unreadable note.
func (h holder) String() string {
	if h.pid == 0 {
		return ""
	}
	return fmt.Sprintf(" (process %d, since %s)", h.pid, h.since)
}

func (h holder) note() string {
	return fmt.Sprintf("pid %d since %s machine %s", h.pid, h.since, h.machine)
}

func parseHolder(note string) holder {
	words := strings.Fields(note)
	if len(words) != 6 || words[0] != "pid" || words[2] != "since" || words[4] != "machine" {
		return holder{}
	}
	pid, err := strconv.Atoi(words[1])
	if _, bad := time.Parse(time.RFC3339, words[3]); err != nil || bad != nil || pid < 1 {
		return holder{}
	}
	return holder{pid: pid, since: words[3], machine: words[5]}
}

// machineMark returns salt-hash for this machine's name.
func machineMark(salt string) string {
	host, err := os.Hostname()
	if err != nil {
		return salt + "-unknown"
	}
	sum := sha256.Sum256([]byte(salt + "\x00" + host))
	return salt + "-" + hex.EncodeToString(sum[:8])
}

// dead reports whether the holder was a process of this machine that has ended.
// Where that isn't sure, it is taken to live.
func (h holder) dead() bool {
	salt, _, ok := strings.Cut(h.machine, "-")
	if h.pid == 0 || !ok || strings.HasSuffix(h.machine, "-unknown") || machineMark(salt) != h.machine {
		return false
	}
	p, err := os.FindProcess(h.pid)
	if err != nil {
		return true // Windows finds live processes only
	}
	err = p.Signal(syscall.Signal(0))
	return errors.Is(err, os.ErrProcessDone) || errors.Is(err, syscall.ESRCH)
}

// lock takes the lock of the record with the given stem (its path without the
// ending). The finding is a warning about a weaker lock, or nil.
func lock(env Env, stem string) (func() error, *Finding, error) {
	salt, err := newID(env.Random)
	if err != nil {
		return nil, nil, err
	}
	me := holder{pid: os.Getpid(), since: env.Now().Format(time.RFC3339), machine: machineMark(salt)}
	unlock, err := env.FS.Lock(stem+lockExt, me.note())
	if errors.Is(err, errors.ErrUnsupported) {
		env.FS.Remove(stem + lockExt)
		unlock, err = lockByFile(env, stem+heldExt, me.note())
		return unlock, &Finding{Level: Warning, What: "the disk has no file locks, so another program could write to the record at the same time",
			Do: "keep it open in one window only"}, err
	}
	return unlock, nil, err
}

// lockByFile is the lock of last resort: a file that only one can create.
func lockByFile(env Env, name, note string) (func() error, error) {
	for range 3 {
		f, err := env.FS.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
		if err == nil {
			_, err = f.Write([]byte(note + "\n"))
			if err = also(err, f.Close()); err != nil {
				env.FS.Remove(name)
				return nil, err
			}
			return func() error { return env.FS.Remove(name) }, nil
		}
		if !errors.Is(err, fs.ErrExist) {
			return nil, err
		}
		if err := takeAway(env, name); err != nil {
			return nil, err
		}
	}
	return nil, fmt.Errorf("%w: %s comes and goes", ErrLocked, name)
}

// takeAway removes the file of a holder that has ended. One at a time may do so,
// and looks again first: otherwise a slow one could remove the file of somebody
// who took over in the meantime.
func takeAway(env Env, name string) error {
	old, err := readFile(env.FS, name)
	if err != nil {
		return nil // gone by now
	}
	h := parseHolder(strings.TrimSpace(string(old)))
	if !h.dead() {
		return fmt.Errorf("%w%s: if no other program has it open, delete %s", ErrLocked, h, name)
	}
	guard := name + "-guard"
	f, err := env.FS.OpenFile(guard, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if errors.Is(err, fs.ErrExist) {
		return fmt.Errorf("%w: another program is just taking it over; if that isn't so, delete %s", ErrLocked, guard)
	}
	if err != nil {
		return err
	}
	if now, err := readFile(env.FS, name); err == nil && bytes.Equal(now, old) {
		env.FS.Remove(name)
	}
	return also(f.Close(), env.FS.Remove(guard))
}

// readFile reads a regular file of at most MaxFile bytes.
func readFile(fsys FS, name string) ([]byte, error) {
	// Opening a pipe would wait for ever, so look first.
	if info, err := fsys.Stat(name); err != nil {
		return nil, err
	} else if !info.Mode().IsRegular() {
		return nil, fmt.Errorf("%s is no file", name)
	} else if info.Size() > MaxFile {
		return nil, fmt.Errorf("%s is too large for a record: %d bytes, at most %d", name, info.Size(), MaxFile)
	}
	f, err := fsys.OpenFile(name, os.O_RDONLY, 0)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	return readAll(f)
}

func readAll(f File) ([]byte, error) {
	info, err := f.Stat()
	if err != nil {
		return nil, err
	}
	b := bytes.NewBuffer(make([]byte, 0, info.Size()+bytes.MinRead))
	_, err = b.ReadFrom(io.NewSectionReader(f, 0, MaxFile+1))
	return b.Bytes(), err
}
