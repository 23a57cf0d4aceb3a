//go:build !windows

package record

import (
	"errors"
	"os"
	"syscall"
)

// SyncDir syncs a folder, so that names made or renamed in it last. Some
// network and phone file systems refuse this; nothing more can be done there.
func (Disk) SyncDir(name string) error {
	d, err := os.Open(name)
	if err != nil {
		return err
	}
	defer d.Close()
	err = d.Sync()
	if errors.Is(err, syscall.EINVAL) || errors.Is(err, errors.ErrUnsupported) {
		return nil
	}
	return err
}

// isFull reports whether err says that there is no room left.
func isFull(err error) bool {
	return errors.Is(err, syscall.ENOSPC) || errors.Is(err, syscall.EDQUOT)
}

// unlinkFirst says whether a lock file is removed before it is unlocked. Here
// an open file can be removed, and nobody can lock it in between.
const unlinkFirst = true
