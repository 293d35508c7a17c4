//go:build unix

package infile

import (
	"path/filepath"
	"syscall"
	"testing"
)

// Opening a pipe that nobody writes to would wait for ever.
func TestOpenPipe(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.pipe")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(path); code(t, err) != "file-not" {
		t.Errorf("got %v", err)
	}
}
