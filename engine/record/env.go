package record

import (
	"crypto/rand"
	"io"
	"io/fs"
	"os"
	"time"
)

// Env is what a record needs of the world. The zero Env is the real world; a
// test replaces single fields.
type Env struct {
	Now    func() time.Time     // wall clock, in the zone of the place
	Mono   func() time.Duration // never goes back while the process lives
	Random io.Reader            // for ids
	FS     FS
	trap   *trap // see WithFailpoint
}

// FS is the file system under a record. Paths are those of the system.
type FS interface {
	OpenFile(name string, flag int, perm fs.FileMode) (File, error)
	Stat(name string) (fs.FileInfo, error)
	ReadDir(name string) ([]fs.DirEntry, error)
	MkdirAll(name string, perm fs.FileMode) error
	Rename(from, to string) error
	Link(from, to string) error
	Remove(name string) error
	// SyncDir makes names that were created or renamed in a folder last. It does
	// nothing where folders can't be synced.
	SyncDir(name string) error
	// Lock takes the lock on a file that it creates if need be, without waiting,
	// and writes note into it. It returns an error that wraps ErrLocked where
	// somebody else holds the lock, and one that wraps errors.ErrUnsupported
	// where the file system has no locks.
	Lock(name, note string) (unlock func() error, err error)
}

// File is an open file. *os.File is one.
type File interface {
	io.ReaderAt
	io.Writer
	io.Closer
	Sync() error
	Truncate(size int64) error
	Stat() (fs.FileInfo, error)
}

var processStart = time.Now()

// filled puts the real world where a field is empty.
func (e Env) filled() Env {
	if e.Now == nil {
		e.Now = time.Now
	}
	if e.Mono == nil {
		e.Mono = func() time.Duration { return time.Since(processStart) }
	}
	if e.Random == nil {
		e.Random = rand.Reader
	}
	if e.FS == nil {
		e.FS = Disk{}
	}
	return e
}

// Disk is the FS of the operating system.
type Disk struct{}

var _ FS = Disk{}

// OpenFile is os.OpenFile.
func (Disk) OpenFile(name string, flag int, perm fs.FileMode) (File, error) {
	f, err := os.OpenFile(name, flag, perm)
	if err != nil {
		return nil, err // a nil *os.File in a File would not be nil
	}
	return f, nil
}

// Stat is os.Stat.
func (Disk) Stat(name string) (fs.FileInfo, error) { return os.Stat(name) }

// ReadDir is os.ReadDir.
func (Disk) ReadDir(name string) ([]fs.DirEntry, error) { return os.ReadDir(name) }

// MkdirAll is os.MkdirAll.
func (Disk) MkdirAll(name string, perm fs.FileMode) error { return os.MkdirAll(name, perm) }

// Rename is os.Rename.
func (Disk) Rename(from, to string) error { return os.Rename(from, to) }

// Link is os.Link.
func (Disk) Link(from, to string) error { return os.Link(from, to) }

// Remove is os.Remove.
func (Disk) Remove(name string) error { return os.Remove(name) }
