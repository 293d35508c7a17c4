package sweeps

import (
	"path/filepath"
	"strings"
	"syscall"
	"testing"

	"conewright/sweeps/bench"
)

// Opening a pipe that nobody writes to would wait for ever.
func TestOpenPipe(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.pipe")
	if err := syscall.Mkfifo(path, 0o600); err != nil {
		t.Fatal(err)
	}
	if _, err := Open(path, bench.Options{}); err == nil || !strings.Contains(err.Error(), "a folder or a device") {
		t.Errorf("got %v", err)
	}
}
