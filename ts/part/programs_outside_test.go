//go:build outside

package part

import (
	"math"
	"os/exec"
	"path/filepath"
	"testing"
)

// scipy and numpy still say what is committed.
func TestOutsideScipy(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("/usr/bin/python3", "../../testdata/part/make.py", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	_, committed := readPart(t, "../../testdata/part/values.txt")
	_, now := readPart(t, filepath.Join(dir, "values.txt"))
	if len(now) != len(committed) {
		t.Fatalf("%d rows, committed %d", len(now), len(committed))
	}
	for i, row := range committed {
		for k, v := range row {
			if !(math.Abs(now[i][k]-v) <= 1e-7*math.Abs(v)) {
				t.Errorf("row %d, number %d: %v, committed %v", i, k, now[i][k], v)
			}
		}
	}
}
