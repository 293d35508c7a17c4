package rawstore

import (
	"bytes"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"conewright/cmd/internal/s3test"
	"conewright/ts/notice"

	"github.com/minio/minio-go/v7"
)

func hashOf(content string) string {
	sum := sha256.Sum256([]byte(content))
	return hex.EncodeToString(sum[:])
}

func refused(t *testing.T, err error, code string) {
	t.Helper()
	var n *notice.Notice
	if !errors.As(err, &n) || n.Code != code {
		t.Errorf("got %v, wanted a refusal %s", err, code)
	}
}

// open opens a place as one machine does, with nothing fetched yet.
func open(t *testing.T, place string) Store {
	t.Helper()
	s, err := Open(place, filepath.Join(t.TempDir(), "cache"))
	if err != nil {
		t.Fatal(err)
	}
	return s
}

// What every store must do; two machines share one.
func testStore(t *testing.T, place string) {
	ctx := context.Background()
	here, there := open(t, place), open(t, place)
	one := hashOf("one")
	if have, err := here.Has(ctx, one); have || err != nil {
		t.Errorf("an empty store: %v, %v", have, err)
	}
	for range 2 {
		if err := here.Put(ctx, one, strings.NewReader("one")); err != nil {
			t.Fatal(err)
		}
	}
	if err := there.Put(ctx, one, strings.NewReader("one")); err != nil {
		t.Fatal(err)
	}
	refused(t, here.Put(ctx, hashOf("two"), strings.NewReader("another")), "book-other-content")
	if have, err := there.Has(ctx, hashOf("two")); have || err != nil {
		t.Errorf("what was refused: %v, %v", have, err)
	}
	read := func(s Store) string {
		if err := s.Fetch(ctx, one); err != nil {
			t.Fatal(err)
		}
		content, err := os.ReadFile(s.Path(one))
		if err != nil {
			t.Fatal(err)
		}
		return string(content)
	}
	for range 2 {
		if got := read(there); got != "one" {
			t.Errorf("read %q", got)
		}
		if err := there.Forget(one); err != nil {
			t.Fatal(err)
		}
	}
	if got := read(here); got != "one" {
		t.Errorf("what another machine has forgotten: %q", got)
	}
	var wait sync.WaitGroup
	large := strings.Repeat("x", 20<<20) // as a recording of a minute
	for range 8 {
		s := open(t, place)
		wait.Go(func() {
			if err := s.Put(ctx, hashOf(large), strings.NewReader(large)); err != nil {
				t.Error(err)
			}
		})
	}
	wait.Wait()
	for range 2 {
		if err := here.Remove(ctx, one); err != nil {
			t.Fatal(err)
		}
	}
	if have, err := here.Has(ctx, one); have || err != nil {
		t.Errorf("what was removed: %v, %v", have, err)
	}
}

func TestFolder(t *testing.T) { testStore(t, t.TempDir()) }

func TestBucket(t *testing.T) {
	s := s3test.Start(t)
	testStore(t, s.Place)
	if over := s.Replaces(); len(over) > 0 {
		t.Errorf("written over whatever is there: %v", over)
	}
}

// A copy from a folder into a store has everything, under the same names.
func TestCopyTo(t *testing.T) {
	ctx := context.Background()
	from, to := Folder(t.TempDir()), open(t, s3test.Start(t).Place)
	for _, content := range []string{"one", "two"} {
		if err := from.Put(ctx, hashOf(content), strings.NewReader(content)); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(string(from), "notes.txt"), nil, 0o600); err != nil {
		t.Fatal(err)
	}
	if err := from.CopyTo(ctx, to); err != nil {
		t.Fatal(err)
	}
	for _, content := range []string{"one", "two"} {
		if have, err := to.Has(ctx, hashOf(content)); !have || err != nil {
			t.Errorf("%s: %v, %v", content, have, err)
		}
	}
}

// What a store gives back is held against its name, and what it does not have is said to be lost.
func TestBucketThatChanged(t *testing.T) {
	ctx := context.Background()
	s := s3test.Start(t)
	store := open(t, s.Place)
	hash := hashOf("one")
	key := "book/" + hash[:2] + "/" + hash
	if _, err := store.(*bucket).client.PutObject(ctx, "raw", key, strings.NewReader("two"), 3, minio.PutObjectOptions{}); err != nil {
		t.Fatal(err)
	}
	refused(t, store.Fetch(ctx, hash), "book-other-content")
	if _, err := os.Stat(store.Path(hash)); err == nil {
		t.Error("what is not that of its name was kept")
	}
	refused(t, store.Fetch(ctx, hashOf("three")), "book-lost-file")
}

func TestPlacesThatAreRefused(t *testing.T) {
	file := filepath.Join(t.TempDir(), "file")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	for place, code := range map[string]string{
		filepath.Join(t.TempDir(), "not mounted"): "raw-no-folder",
		file:                            "raw-no-folder",
		"raw":                           "raw-no-folder",
		"s3://store.example":            "raw-bad-address",
		"s3:///raw":                     "raw-bad-address",
		"s3://key:secret@store/raw":     "raw-bad-address",
		"s3://store.example/raw\x7f":    "raw-bad-address",
		"s3://store.example:port/a/b/c": "raw-bad-address",
	} {
		_, err := Open(place, t.TempDir())
		refused(t, err, code)
		if err != nil && strings.Contains(err.Error(), "secret") {
			t.Errorf("%s: %v", place, err)
		}
	}
	s := s3test.Start(t)
	store := open(t, strings.Replace(s.Place, "/raw/", "/none/", 1))
	refused(t, store.Put(context.Background(), hashOf("one"), bytes.NewReader([]byte("one"))), "raw-unreachable")
}
