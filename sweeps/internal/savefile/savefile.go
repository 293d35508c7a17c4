package savefile

import (
	"errors"
	"fmt"
	"io/fs"
	"math/rand/v2"
	"os"
	"path/filepath"

	"conewright/sweeps/fault"
)

// saveFile writes a file through write. The name appears only when everything
// is on disk, so an error or a power cut leaves no half-written result; an
// existing file is kept unless overwrite is set.
func Save(path string, overwrite bool, write func(*os.File) error) (err error) {
	exists := &fault.FormatError{File: path, Msg: "this file exists already, and is kept",
		Advice: "choose another name, or ask for it to be overwritten", Err: fs.ErrExist}
	if !overwrite {
		if _, err := os.Lstat(path); err == nil {
			return exists
		}
	}
	part := filepath.Join(filepath.Dir(path), fmt.Sprintf(".%s.%08x.part", filepath.Base(path), rand.Uint32()))
	f, err := os.OpenFile(part, os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
	if err != nil {
		return cannotWrite(path, err)
	}
	defer func() {
		if err != nil {
			f.Close()
			os.Remove(part)
		}
	}()
	if err := write(f); err != nil {
		return cannotWrite(path, err)
	}
	if err := f.Sync(); err != nil {
		return cannotWrite(path, err)
	}
	if err := f.Close(); err != nil {
		return cannotWrite(path, err)
	}
	if !overwrite {
		// A hard link, unlike a rename, never replaces a file that appeared
		// meanwhile. Where the file system has no links, rename.
		switch err := os.Link(part, path); {
		case err == nil:
			os.Remove(part)
			return nil
		case errors.Is(err, fs.ErrExist):
			return exists
		}
	}
	if err := os.Rename(part, path); err != nil {
		return cannotWrite(path, err)
	}
	return nil
}

func cannotWrite(path string, err error) error {
	return fmt.Errorf("writing %s: %w", path, err)
}
