package inputs_test

import (
	"errors"
	"os"
	"path/filepath"
	"testing"

	"conewright/cmd/internal/inputs"
)

// message is what an error says, "" for none.
func message(t *testing.T, err error) string {
	t.Helper()
	if err == nil {
		return ""
	}
	var mixed *inputs.Error
	if !errors.As(err, &mixed) || mixed.Hint() == "" {
		t.Fatalf("%v is a %T, or has no hint", err, err)
	}
	return err.Error()
}

func TestSpare(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, name := range []string{"a", "b"} {
		if err := os.WriteFile(name, nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.Link("a", "hard"); err != nil {
		t.Skip(err)
	}
	files := []inputs.File{{Path: "a"}, {Path: "b", Role: "the bench file"}, {Path: "gone"}}
	for _, c := range []struct {
		targets []string
		want    string
	}{
		{[]string{"new", ""}, ""},
		{[]string{"", ""}, ""},
		{[]string{"gone"}, ""}, // nothing there to be lost
		{[]string{"a"}, "a is read as a sweep, and is kept"},
		{[]string{"new", filepath.Join(".", "b")}, "b is read as the bench file, and is kept"},
		{[]string{"hard"}, "hard is read as a sweep, and is kept"},
		{[]string{"new", "x/../new"}, "new and x/../new name the same file"},
		{[]string{"a", "hard"}, "a is read as a sweep, and is kept"},
	} {
		if got := message(t, inputs.Spare(files, c.targets...)); got != c.want {
			t.Errorf("%q: %q, want %q", c.targets, got, c.want)
		}
	}
}

func TestContents(t *testing.T) {
	var c inputs.Contents
	for _, step := range []struct {
		file inputs.File
		want string
	}{
		{inputs.File{Path: "a", Role: "before", Content: []string{"1"}}, ""},
		{inputs.File{Path: "b", Role: "after", Content: []string{"1"}}, "b (after) holds the same data as a (before)"},
		{inputs.File{Path: "fit", Role: "after", Content: []string{"9", "2"}}, ""},
		{inputs.File{Path: "c", Content: []string{"2"}}, "c holds the same data as fit (after)"},
		{inputs.File{Path: "virtual"}, ""},
		{inputs.File{Path: "virtual"}, ""}, // without data there are no same data
	} {
		if got := message(t, c.Add(step.file)); got != step.want {
			t.Errorf("%s: %q, want %q", step.file.Path, got, step.want)
		}
	}
}
