package infile

import (
	"bytes"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"io"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"conewright/ts/notice"
)

func code(t *testing.T, err error) string {
	t.Helper()
	var n *notice.Notice
	if !errors.As(err, &n) {
		t.Fatalf("%v is a %T", err, err)
	}
	return n.Code
}

// make writes a file of n bytes and opens it.
func open(t *testing.T, n int) (*File, []byte) {
	t.Helper()
	rng := rand.New(rand.NewPCG(1, 2))
	data := make([]byte, n)
	for i := range data {
		data[i] = byte(rng.Uint32())
	}
	path := filepath.Join(t.TempDir(), "x.bin")
	if err := os.WriteFile(path, data, 0o600); err != nil {
		t.Fatal(err)
	}
	f, err := Open(path)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { f.Close() })
	return f, data
}

func TestReadAt(t *testing.T) {
	for _, size := range []int{0, 1, block - 1, block, block + 1, 40*block + 17} {
		f, data := open(t, size)
		sum := sha256.Sum256(data)
		if f.Size() != int64(size) || f.SHA256() != hex.EncodeToString(sum[:]) {
			t.Errorf("%d bytes: size %d, hash %s", size, f.Size(), f.SHA256())
		}
		if all, err := f.Bytes(int64(size)); err != nil || !bytes.Equal(all, data) {
			t.Errorf("%d bytes: %v", size, err)
		}
		rng := rand.New(rand.NewPCG(3, 4))
		for range 300 {
			off, n := rng.IntN(size+3), rng.IntN(3*block)
			got := make([]byte, n)
			k, err := f.ReadAt(got, int64(off))
			want := bytes.NewReader(data)
			other := make([]byte, n)
			m, wrong := want.ReadAt(other, int64(off))
			if k != m || err != wrong && n > 0 || !bytes.Equal(got[:k], other[:m]) {
				t.Fatalf("%d bytes from %d of %d: %d, %v, want %d, %v", n, off, size, k, err, m, wrong)
			}
		}
	}
}

// A file that is not the one of the hash any more is not read.
func TestFileChanges(t *testing.T) {
	for name, change := range map[string]func(f *os.File) error{
		"one byte": func(f *os.File) error { _, err := f.WriteAt([]byte{0}, 3*block+5); return err },
		"cut off":  func(f *os.File) error { return f.Truncate(3*block + 100) },
	} {
		f, data := open(t, 5*block)
		data[3*block+5] |= 1 // another byte than the one written
		if err := os.WriteFile(f.Path(), data, 0o600); err != nil {
			t.Fatal(err)
		}
		f.Close()
		f, err := Open(f.Path())
		if err != nil {
			t.Fatal(err)
		}
		defer f.Close()
		w, err := os.OpenFile(f.Path(), os.O_RDWR, 0)
		if err != nil {
			t.Fatal(err)
		}
		if err := errors.Join(change(w), w.Close()); err != nil {
			t.Fatal(err)
		}
		if _, err := f.ReadAt(make([]byte, 10), 0); err != nil {
			t.Errorf("%s: what did not change: %v", name, err)
		}
		if _, err := f.Bytes(f.Size()); code(t, err) != "file-changed" {
			t.Errorf("%s: %v", name, err)
		}
	}
	// One that grows is still the one that was hashed.
	f, data := open(t, 100)
	w, err := os.OpenFile(f.Path(), os.O_APPEND|os.O_WRONLY, 0)
	if err != nil {
		t.Fatal(err)
	}
	_, err = w.Write([]byte("more"))
	if err := errors.Join(err, w.Close()); err != nil {
		t.Fatal(err)
	}
	if got, err := f.Bytes(1000); err != nil || !bytes.Equal(got, data) {
		t.Errorf("a file that grew: %v", err)
	}
	if _, err := f.ReadAt(make([]byte, 1), 100); err != io.EOF {
		t.Errorf("beyond what was hashed: %v", err)
	}
}

func TestOpenRefuses(t *testing.T) {
	dir := t.TempDir()
	_, err := Open(filepath.Join(dir, "none"))
	if code(t, err) != "file-open" || !errors.Is(err, os.ErrNotExist) {
		t.Errorf("a missing file: %v", err)
	}
	if _, err := Open(dir); code(t, err) != "file-not" {
		t.Errorf("a folder: %v", err)
	}
	f, _ := open(t, 100)
	if _, err := f.Bytes(99); code(t, err) != "file-large" {
		t.Errorf("a file that is too large: %v", err)
	}
}
