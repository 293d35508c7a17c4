package book

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"io"
	"os"

	"conewright/ts/notice"
)

// RawPath returns where this machine reads the raw file with this SHA-256 once it was fetched.
func (b *Book) RawPath(hash string) string { return b.raw.Path(hash) }

// Fetch makes sure that a raw file is at its path. Where it lies there anyway this does nothing, not even
// look: whoever opens a file finds out whether it is there.
func (b *Book) Fetch(ctx context.Context, hash string) error { return b.raw.Fetch(ctx, hash) }

// RawFile fetches a raw file and returns its path. The whole file is read once: it is for small ones.
func (b *Book) RawFile(ctx context.Context, hash string) (string, error) {
	if err := b.Fetch(ctx, hash); err != nil {
		return "", err
	}
	path := b.RawPath(hash)
	lost := notice.New("book-lost-file", notice.Facts{"path": path})
	f, err := os.Open(path)
	if err != nil {
		return "", lost.Because(err)
	}
	defer f.Close()
	sum := sha256.New()
	if _, err := io.Copy(sum, f); err != nil {
		return "", lost.Because(err)
	}
	if hex.EncodeToString(sum.Sum(nil)) != hash {
		return "", notice.New("book-changed-file", notice.Facts{"path": path})
	}
	return path, nil
}

// Forget removes what was fetched; it can be fetched again.
func (b *Book) Forget(hash string) error { return b.raw.Forget(hash) }
