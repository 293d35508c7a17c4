package book

import (
	"bytes"
	"context"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"testing"
)

// A raw file that is lost or no longer what its name says gets into no archive and no backup: a backup that lacks a
// recording, or holds another, would be found out when it is needed.
func TestDamagedRawFileIsNotCopied(t *testing.T) {
	ctx, folder := context.Background(), t.TempDir()
	b, n := filled(t, folder)
	job, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	path := b.RawPath(job.Drivers[0].Stages[0].Sweeps[0].SHA256)
	copyTo := filepath.Join(t.TempDir(), "copy")
	both := func(code string) {
		t.Helper()
		refused(t, b.Backup(ctx, copyTo), code)
		if _, err := os.Lstat(copyTo); !errors.Is(err, fs.ErrNotExist) {
			t.Errorf("half a backup is left: %v", err)
		}
		refused(t, b.Export(ctx, n, "0", new(bytes.Buffer)), code)
	}
	if err := os.Chmod(path, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(path, []byte("oNe"), 0o600); err != nil {
		t.Fatal(err)
	}
	both("book-changed-file")
	if err := os.Remove(path); err != nil {
		t.Fatal(err)
	}
	both("book-lost-file")
	if err := b.Backup(ctx, folder); err == nil {
		t.Error("a backup into a folder that is there")
	}
	if _, err := os.Stat(filepath.Join(folder, fileName)); err != nil {
		t.Errorf("a refused backup removed what was there: %v", err)
	}
}
