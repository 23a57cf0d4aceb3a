package record

import (
	"errors"
	"syscall"
)

// SyncDir does nothing: Windows has no way to sync a folder.
func (Disk) SyncDir(name string) error { return nil }

// Windows error codes that the syscall package has no names for.
const (
	errHandleDiskFull = syscall.Errno(39)
	errDiskFull       = syscall.Errno(112)
)

// isFull reports whether err says that there is no room left.
func isFull(err error) bool {
	return errors.Is(err, errHandleDiskFull) || errors.Is(err, errDiskFull) || errors.Is(err, syscall.ENOSPC)
}

// unlinkFirst says whether a lock file is removed before it is unlocked. Here
// an open file can't be removed; and once it is unlocked, removing it fails if
// somebody else has opened it, which is what is wanted.
const unlinkFirst = false
