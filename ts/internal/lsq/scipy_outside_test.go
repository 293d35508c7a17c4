//go:build outside

package lsq

import (
	"math"
	"os/exec"
	"path/filepath"
	"testing"
)

// Runs scipy and lmfit again: what the plain tests compare with must still be
// what they say.
func TestOutsideScipy(t *testing.T) {
	for script, file := range map[string]string{"solve.py": "scipy.txt", "profile.py": "profile.txt"} {
		cmd := exec.Command("/usr/bin/python3", script)
		cmd.Dir = leastSquares
		out, err := cmd.Output()
		if err != nil {
			t.Fatalf("running %s: %v", script, err)
		}
		got := parseNumbers(t, string(out), 1)
		want := readNumbers(t, filepath.Join(leastSquares, file), 1)
		if len(got) != len(want) {
			t.Fatalf("%s: %d lines, want %d", script, len(got), len(want))
		}
		for i, w := range want {
			if got[i].name != w.name || len(got[i].numbers) != len(w.numbers) {
				t.Fatalf("%s: line %d is about %s", script, i+1, got[i].name)
			}
			for k, v := range w.numbers {
				if math.Abs(got[i].numbers[k]-v) > 1e-6*math.Abs(v) {
					t.Errorf("%s: %s: number %d is %v, was %v", script, w.name, k, got[i].numbers[k], v)
				}
			}
		}
	}
}
