//go:build unix

package savefile

import (
	"errors"
	"os"
	"path/filepath"
	"syscall"
)

// syncFolder brings the name of a file onto the disk.
func syncFolder(path string) error {
	dir, err := os.Open(filepath.Dir(path))
	if err != nil {
		return nil // a folder that may be written and not read; the file itself is safe
	}
	defer dir.Close()
	if err := dir.Sync(); !errors.Is(err, syscall.EINVAL) && !errors.Is(err, syscall.ENOTSUP) {
		return err
	}
	return nil // some file systems cannot
}
