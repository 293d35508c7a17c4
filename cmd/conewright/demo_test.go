package main

import (
	"bytes"
	"os"
	"path/filepath"
	"strings"
	"testing"
)

// A newcomer repeats each step of the demo by hand, with the files that it left
// and the commands that it wrote down, and sees the same.
func TestDemoCanBeRepeatedByHand(t *testing.T) {
	t.Chdir(t.TempDir())
	var shown, errs bytes.Buffer
	if code := run([]string{"demo", "--keep", "brindle"}, nil, &shown, &errs); code != 0 || errs.Len() > 0 {
		t.Fatalf("exit code %d: %s", code, errs.String())
	}
	for _, words := range []string{"\nIN SPEC\n", "\nOUT OF SPEC: Fs and Cms\n", "The suspension is"} {
		if !strings.Contains(shown.String(), words) {
			t.Errorf("the demo does not say %q", words)
		}
	}
	t.Chdir("brindle")
	list, err := os.ReadFile("commands.txt")
	if err != nil {
		t.Fatal(err)
	}
	commands := 0
	for _, line := range strings.Split(string(list), "\n") {
		words, ok := strings.CutPrefix(line, "conewright ")
		if !ok {
			continue
		}
		commands++
		var again bytes.Buffer
		if code := run(strings.Fields(words), nil, &again, &errs); code == 1 || code == 2 || errs.Len() > 0 {
			t.Errorf("%s: exit code %d: %s", line, code, errs.String())
		}
		if !strings.Contains(shown.String(), "$ "+line+"\n\n"+again.String()) {
			t.Errorf("%s\nshows something else than the demo:\n%s", line, again.String())
		}
	}
	if commands != len(demoSteps) {
		t.Errorf("%d commands for %d steps", commands, len(demoSteps))
	}
}

// What lies in the folder is not overwritten, and nothing is left half done.
func TestDemoOverwritesNothing(t *testing.T) {
	dir := t.TempDir()
	mine := filepath.Join(dir, "larch.toml")
	if err := os.WriteFile(mine, []byte("mine"), 0o666); err != nil {
		t.Fatal(err)
	}
	var out, errs bytes.Buffer
	if code := run([]string{"demo", "--keep", dir}, nil, &out, &errs); code != 1 || out.Len() > 0 || !strings.Contains(errs.String(), "hint: ") {
		t.Errorf("exit code %d, %q, %q", code, out.String(), errs.String())
	}
	if data, _ := os.ReadFile(mine); string(data) != "mine" {
		t.Errorf("the file became %q", data)
	}
	if entries, _ := os.ReadDir(dir); len(entries) != 1 {
		t.Errorf("%d files are left", len(entries))
	}
}
