//go:build outside && unix

package book

import (
	"testing"

	"conewright/cmd/internal/pgtest"
)

// The tests of a book in a folder, on a PostgreSQL server.
func TestOutsideBookOnServer(t *testing.T) {
	s := pgtest.Start(t, "fsync = off") // nobody cuts its power
	runSuite(t, func(t *testing.T) string {
		t.Setenv(RawVariable, t.TempDir())
		return s.Database(t)
	})
}
