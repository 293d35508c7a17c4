package book

import (
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"time"

	"conewright/cmd/internal/savefile"
	"conewright/ts/notice"
)

// rawFolder holds the recordings, tables, sheets and calibrations under their hashes, in
// folders of their first two digits.
const rawFolder = "raw"

var hashForm = regexp.MustCompile(`^[0-9a-f]{64}$`)

// RawPath returns where the content with this SHA-256 lies.
func (b *Book) RawPath(hash string) string {
	return filepath.Join(b.folder, rawFolder, hash[:2], hash)
}

// put keeps what is read from r under its hash; what is there already stays. A content that
// has another hash than the one named is refused.
func (b *Book) put(hash string, r io.Reader) error {
	path := b.RawPath(hash)
	if _, err := os.Stat(path); err == nil {
		return nil
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o700); err != nil {
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

// putFile keeps a file under its hash.
func (b *Book) putFile(hash, path string) error {
	f, err := os.Open(path)
	if err != nil {
		return err
	}
	defer f.Close()
	return b.put(hash, f)
}

// leftover is how old a file that nothing refers to must be before it is removed: a younger
// one may belong to a sweep that another program is about to add.
const leftover = time.Hour

// removeUnused removes the raw files that nothing refers to: those in dropped at once,
// others, which a program that was ended has left, when they are old.
func (b *Book) removeUnused(used, dropped map[string]bool) error {
	return filepath.WalkDir(filepath.Join(b.folder, rawFolder), func(path string, d fs.DirEntry, err error) error {
		switch {
		case errors.Is(err, fs.ErrNotExist):
			return nil // removed meanwhile
		case err != nil:
			return err
		case d.IsDir() || used[d.Name()]:
			return nil
		}
		if !dropped[d.Name()] {
			info, err := d.Info()
			if err != nil || time.Since(info.ModTime()) < leftover {
				return nil
			}
		}
		if err := os.Remove(path); err != nil && !errors.Is(err, fs.ErrNotExist) {
			return err
		}
		return nil
	})
}
