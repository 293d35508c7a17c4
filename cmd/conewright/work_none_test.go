//go:build !work

package main

import (
	"os/exec"
	"strings"
	"testing"
)

// The program for a bench has nothing of the queue in it.
func TestBenchHasNoQueue(t *testing.T) {
	out, err := exec.Command("go", "list", "-deps", ".").Output()
	if err != nil {
		t.Fatal(err)
	}
	for path := range strings.FieldsSeq(string(out)) {
		if strings.Contains(path, "riverqueue") || strings.HasSuffix(path, "cmd/internal/work") {
			t.Errorf("the program contains %s", path)
		}
	}
}
