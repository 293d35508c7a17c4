package savefile

import (
	"errors"
	"io"
	"os"
	"path/filepath"
	"testing"

	"conewright/ts/notice"
)

// text writes a text.
func text(s string) func(io.WriteSeeker) error {
	return func(w io.WriteSeeker) error {
		_, err := io.WriteString(w, s)
		return err
	}
}

// code returns the code of an error that is a notice, "" for none.
func code(t *testing.T, err error) string {
	t.Helper()
	if err == nil {
		return ""
	}
	var n *notice.Notice
	if !errors.As(err, &n) {
		t.Fatalf("%v is a %T", err, err)
	}
	return n.Code
}

// holds checks that a folder holds one file with a content, and nothing else.
func holds(t *testing.T, path, want string) {
	t.Helper()
	if got, err := os.ReadFile(path); err != nil || string(got) != want {
		t.Errorf("the file holds %q, %v, want %q", got, err, want)
	}
	if all, _ := os.ReadDir(filepath.Dir(path)); len(all) != 1 {
		t.Errorf("%v lie in the folder", all)
	}
}

func TestWrite(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.txt")
	if err := Write(path, false, text("first")); err != nil {
		t.Fatal(err)
	}
	holds(t, path, "first")
	if got := code(t, Write(path, false, text("second"))); got != "save-exists" {
		t.Errorf("a file that exists: %s", got)
	}
	holds(t, path, "first")
	if err := Write(path, true, text("third")); err != nil {
		t.Fatal(err)
	}
	holds(t, path, "third")
	// The same mode as any new file.
	plain := filepath.Join(t.TempDir(), "plain")
	if err := os.WriteFile(plain, nil, 0o666); err != nil {
		t.Fatal(err)
	}
	want, _ := os.Stat(plain)
	if got, err := os.Stat(path); err != nil || got.Mode() != want.Mode() {
		t.Errorf("mode %v, %v, want %v", got.Mode(), err, want.Mode())
	}
}

// What fails leaves what was there, and nothing else.
func TestWriteFails(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.txt")
	if err := Write(path, false, text("precious")); err != nil {
		t.Fatal(err)
	}
	broken := errors.New("broken")
	err := Write(path, true, func(w io.WriteSeeker) error {
		if err := text("half")(w); err != nil {
			return err
		}
		return broken
	})
	if !errors.Is(err, broken) {
		t.Errorf("got %v", err)
	}
	holds(t, path, "precious")
}

// A program that ends in the middle takes what is half-written with it, and nothing else.
func TestRemoveUnfinished(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.txt")
	if err := Write(path, false, text("whole")); err != nil {
		t.Fatal(err)
	}
	RemoveUnfinished()
	holds(t, path, "whole")
	Write(path, true, func(w io.WriteSeeker) error {
		if err := text("half")(w); err != nil {
			t.Error(err)
		}
		RemoveUnfinished() // as if the program ended here
		holds(t, path, "whole")
		return errors.New("ended")
	})
	holds(t, path, "whole")
}

// A file that appears while another of that name is written is kept.
func TestWriteMeanwhile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "x.txt")
	err := Write(path, false, func(w io.WriteSeeker) error {
		if err := os.WriteFile(path, []byte("other"), 0o600); err != nil {
			t.Fatal(err)
		}
		return text("late")(w)
	})
	if got := code(t, err); got != "save-exists" {
		t.Errorf("got %s", got)
	}
	holds(t, path, "other")
}

func TestCheck(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "x.txt")
	if err := os.WriteFile(file, nil, 0o600); err != nil {
		t.Fatal(err)
	}
	link := filepath.Join(dir, "link.txt")
	if err := os.Symlink(file, link); err != nil {
		t.Skip(err) // some systems let only administrators make links
	}
	for _, c := range []struct {
		path      string
		overwrite bool
		want      string
	}{
		{dir, true, "save-folder"},
		{file, false, "save-exists"},
		{link, true, "save-link"},
		{file, true, ""},
		{filepath.Join(dir, "none", "x.txt"), true, "save-no-folder"},
		{filepath.Join(file, "x.txt"), true, "save-failed"},
		{filepath.Join(dir, "new.txt"), false, ""},
	} {
		if got := code(t, Check(c.path, c.overwrite)); got != c.want {
			t.Errorf("%s, overwrite %v: %q, want %q", c.path, c.overwrite, got, c.want)
		}
	}
}
