//go:build outside && unix

package book

import (
	"testing"

	"conewright/cmd/internal/pgtest"
	"conewright/cmd/internal/s3test"
)

// The tests of a book in a folder, on a PostgreSQL server.
func TestOutsideBookOnServer(t *testing.T) {
	s := pgtest.Start(t, "fsync = off") // nobody cuts its power
	for name, raw := range map[string]func(t *testing.T) string{
		"files on a share": tempFolder,
		"files in a store": func(t *testing.T) string { return s3test.Start(t).Place },
	} {
		t.Run(name, func(t *testing.T) {
			runSuite(t, func(t *testing.T) string {
				t.Setenv(RawVariable, raw(t))
				return s.Database(t)
			})
		})
	}
}
