//go:build outside

package lsq

import (
	"math"
	"os/exec"
	"path/filepath"
	"testing"
)

// Runs scipy again: what the plain test compares with must still be what it
// says.
func TestOutsideScipy(t *testing.T) {
	cmd := exec.Command("/usr/bin/python3", "solve.py")
	cmd.Dir = leastSquares
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("running solve.py: %v", err)
	}
	got := parseNumbers(t, string(out), 1)
	want := readNumbers(t, filepath.Join(leastSquares, "scipy.txt"), 1)
	if len(got) != len(want) {
		t.Fatalf("%d problems, want %d", len(got), len(want))
	}
	for i, w := range want {
		if got[i].name != w.name || len(got[i].numbers) != len(w.numbers) {
			t.Fatalf("line %d is about %s", i+1, got[i].name)
		}
		for k, v := range w.numbers {
			if math.Abs(got[i].numbers[k]-v) > 1e-6*math.Abs(v) {
				t.Errorf("%s: number %d is %v, was %v", w.name, k, got[i].numbers[k], v)
			}
		}
	}
}
