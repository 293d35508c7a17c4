// Package rawstore keeps recordings, tables, sheets and calibrations under the SHA-256 of their
// content. What is there is never replaced, and content that is not what its name says is refused.
package rawstore

import (
	"context"
	"io"
	"regexp"
)

// Store is where raw files are kept, for one program or for many.
type Store interface {
	// Put keeps what is read from r under its hash; what is there already stays.
	Put(ctx context.Context, hash string, r io.Reader) error
	// Has says whether the content is there.
	Has(ctx context.Context, hash string) (bool, error)
	// Path is where this machine reads the content once it was fetched.
	Path(hash string) string
	// Fetch makes sure that the content is at its path, where it is not to be changed.
	Fetch(ctx context.Context, hash string) error
	// Forget removes what was fetched; it can be fetched again.
	Forget(hash string) error
	// Remove removes the content for good.
	Remove(ctx context.Context, hash string) error
}

var hashForm = regexp.MustCompile(`^[0-9a-f]{64}$`)

// IsHash says whether a text can be the SHA-256 of a raw file.
func IsHash(text string) bool { return hashForm.MatchString(text) }
