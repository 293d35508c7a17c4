package rawstore

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"conewright/cmd/internal/savefile"
	"conewright/ts/notice"
)

// Folder is a store in a folder of this machine or of a share: each file under its hash, in folders of their
// first two digits.
type Folder string

// Path returns where the content lies.
func (f Folder) Path(hash string) string { return filepath.Join(string(f), hash[:2], hash) }

// Put keeps what is read from r under its hash.
func (f Folder) Put(_ context.Context, hash string, r io.Reader) error {
	path := f.Path(hash)
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	if err := os.Mkdir(filepath.Dir(path), 0o770); err != nil && !errors.Is(err, fs.ErrExist) {
		return notice.New("book-unusable", notice.Facts{"path": path}).Because(err)
	}
	err := savefile.Write(path, false, func(w io.WriteSeeker) error {
		sum := sha256.New()
		if _, err := io.Copy(io.MultiWriter(w, sum), r); err != nil {
			return err
		}
		if hex.EncodeToString(sum.Sum(nil)) != hash {
			return notice.New("book-other-content", notice.Facts{"hash": hash})
		}
		return nil
	})
	var n *notice.Notice
	if errors.As(err, &n) && n.Code == "save-exists" {
		return nil // another program has put the same there meanwhile
	}
	return err
}

// Has says whether the content is there.
func (f Folder) Has(_ context.Context, hash string) (bool, error) {
	_, err := os.Stat(f.Path(hash))
	if errors.Is(err, fs.ErrNotExist) {
		return false, nil
	}
	return err == nil, err
}

// Fetch does nothing: whoever opens the file finds out whether it is there.
func (f Folder) Fetch(context.Context, string) error { return nil }

// Forget does nothing: nothing was fetched.
func (f Folder) Forget(string) error { return nil }

// Remove removes the content.
func (f Folder) Remove(_ context.Context, hash string) error {
	if err := os.Remove(f.Path(hash)); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return err
	}
	return nil
}

// CopyTo copies every file into another store; one that is no longer what its name says is an error.
func (f Folder) CopyTo(ctx context.Context, to Store) error {
	return filepath.WalkDir(string(f), func(path string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil // removed meanwhile
		case err != nil || d.IsDir() || !IsHash(d.Name()):
			return err
		}
		err = PutFile(ctx, to, d.Name(), path)
		var n *notice.Notice
		switch {
		case errors.As(err, &n) && n.Code == "book-other-content":
			return notice.New("book-changed-file", notice.Facts{"path": path})
		case err != nil && !errors.Is(err, fs.ErrNotExist):
			return err
		}
		return ctx.Err()
	})
}

// PutFile keeps a file under its hash.
func PutFile(ctx context.Context, to Store, hash, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	return to.Put(ctx, hash, f)
}
