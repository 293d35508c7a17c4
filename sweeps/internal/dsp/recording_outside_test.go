//go:build outside

package dsp

import (
	"fmt"
	"math"
	"os"
	"os/exec"
	"strings"
	"testing"
)

// The committed numbers are what numpy makes today, in all but the last digits.
func TestOutsideTransform(t *testing.T) {
	out, err := exec.Command("/usr/bin/python3", "-B", "../../../testdata/recording/transform.py").Output()
	if err != nil {
		t.Fatal(err)
	}
	text, err := os.ReadFile(transformFile)
	if err != nil {
		t.Fatal(err)
	}
	now, then := strings.Fields(string(out)), strings.Fields(string(text))
	if len(now) != len(then) || len(now) != 240 {
		t.Fatalf("%d numbers, %d committed", len(now), len(then))
	}
	for i := range now {
		var a, b float64
		if _, err := fmt.Sscan(now[i]+" "+then[i], &a, &b); err != nil || math.Abs(a-b) > 1e-13 {
			t.Errorf("number %d is %s now, %s committed", i, now[i], then[i])
		}
	}
}
