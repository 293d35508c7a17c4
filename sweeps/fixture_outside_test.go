//go:build outside

package sweeps

import (
	"math"
	"os/exec"
	"path/filepath"
	"testing"

	"conewright/ts/handmade/tables"
)

// The simulator still prints what is committed.
func TestOutsideFixture(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("../testdata/part/make.sh", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	committed, now := tables.Numbers(t, "../testdata/part/fixture.out"), tables.Numbers(t, filepath.Join(dir, "fixture.out"))
	if len(now) != len(committed) {
		t.Fatalf("%d rows, committed %d", len(now), len(committed))
	}
	for i, row := range committed {
		for k, v := range row {
			if !(math.Abs(now[i][k]-v) <= 1e-9*math.Abs(v)+1e-12) {
				t.Errorf("row %d, column %d: %v, committed %v", i, k, now[i][k], v)
			}
		}
	}
}
