// Package savefile is how every result gets onto the disk: as a whole or not at all.
package savefile

import (
	"errors"
	"io"
	"io/fs"
	"math/rand/v2"
	"os"
	"os/signal"
	"path/filepath"
	"strconv"
	"sync/atomic"
	"syscall"

	"conewright/ts/notice"
)

// Check refuses a place that must not or cannot be written: a folder, a device, a link, a
// folder that is not there, and, unless overwrite is set, a file that is.
func Check(path string, overwrite bool) error {
	switch info, err := os.Lstat(path); {
	case err == nil && info.Mode()&fs.ModeSymlink != 0:
		return notice.New("save-link", notice.Facts{"path": path})
	case err == nil && info.IsDir():
		return notice.New("save-folder", notice.Facts{"path": path})
	case err == nil && !info.Mode().IsRegular():
		return notice.New("save-device", notice.Facts{"path": path})
	case err == nil && !overwrite:
		return notice.New("save-exists", notice.Facts{"path": path})
	case err != nil && !errors.Is(err, fs.ErrNotExist):
		return failed(path, err)
	}
	if info, err := os.Stat(filepath.Dir(path)); err != nil || !info.IsDir() {
		return notice.New("save-no-folder", notice.Facts{"folder": filepath.Dir(path)})
	}
	return nil
}

// Write makes a file of what write writes. The bytes go to a temporary file in the
// same folder, which takes the name when everything is on the disk; its mode is that of the
// umask. Whatever goes wrong, an interrupt or a power cut included, the name holds what it
// held before, and nothing else is left behind but by a power cut. A file that exists is
// kept unless overwrite is set, also one that appears meanwhile.
func Write(path string, overwrite bool, write func(w io.WriteSeeker) error) error {
	if err := Check(path, overwrite); err != nil {
		return err
	}
	f, err := temporary(path)
	if err != nil {
		return failed(path, err)
	}
	Unfinished(f.Name())
	kept := false
	defer func() {
		f.Close()
		if !kept {
			os.Remove(f.Name())
		}
		Finished(f.Name())
	}()
	target := &interruptible{file: f, path: path}
	defer target.watch()()
	if err := write(target); err != nil {
		return err
	}
	if err := errors.Join(target.stopped(), f.Sync(), f.Close()); err != nil {
		return failed(path, err)
	}
	if !overwrite {
		// A link fails where the name was taken meanwhile; a rename would replace. Where
		// the file system has no links, there is nothing better.
		switch err := os.Link(f.Name(), path); {
		case err == nil:
			return failed(path, syncFolder(path))
		case errors.Is(err, fs.ErrExist):
			return notice.New("save-exists", notice.Facts{"path": path})
		}
	}
	if err := os.Rename(f.Name(), path); err != nil {
		return failed(path, err)
	}
	kept = true
	return failed(path, syncFolder(path))
}

// temporary makes a new file beside path. os.CreateTemp would keep others from reading it,
// whatever the umask says.
func temporary(path string) (*os.File, error) {
	for {
		name := "." + filepath.Base(path) + "." + strconv.FormatUint(rand.Uint64(), 36) + ".part"
		f, err := os.OpenFile(filepath.Join(filepath.Dir(path), name), os.O_RDWR|os.O_CREATE|os.O_EXCL, 0o666)
		if !errors.Is(err, fs.ErrExist) {
			return f, err
		}
	}
}

// failed is the error for the path that the user knows, nil for none.
func failed(path string, err error) error {
	var n *notice.Notice
	switch {
	case err == nil:
		return nil
	case errors.As(err, &n):
		return err
	}
	return notice.New("save-failed", notice.Facts{"path": path}).Because(err)
}

// interruptible is a file that refuses to be written once the program is asked to end, so
// that who writes it returns and it can be removed.
type interruptible struct {
	file *os.File // not embedded: it has other ways to write
	path string
	end  atomic.Bool
}

// watch begins to listen for the request to end; a second one ends the program at once.
// It returns what stops listening.
func (f *interruptible) watch() (stop func()) {
	asked := make(chan os.Signal, 1)
	signal.Notify(asked, os.Interrupt, syscall.SIGTERM)
	finished := make(chan struct{})
	go func() {
		select {
		case <-asked:
			f.end.Store(true)
			signal.Stop(asked)
		case <-finished:
		}
	}()
	return func() {
		signal.Stop(asked)
		close(finished)
	}
}

// stopped is the error for a file that was not finished because the program was asked to
// end.
func (f *interruptible) stopped() error {
	if f.end.Load() {
		return notice.New("save-interrupted", notice.Facts{"path": f.path})
	}
	return nil
}

// Write implements io.Writer.
func (f *interruptible) Write(p []byte) (int, error) {
	if err := f.stopped(); err != nil {
		return 0, err
	}
	n, err := f.file.Write(p)
	return n, failed(f.path, err)
}

// Seek implements io.Seeker.
func (f *interruptible) Seek(offset int64, whence int) (int64, error) {
	at, err := f.file.Seek(offset, whence)
	return at, failed(f.path, err)
}
