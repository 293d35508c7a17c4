//go:build outside

package boxed

import (
	"math"
	"os/exec"
	"path/filepath"
	"testing"

	"conewright/ts/handmade/tables"
)

// The simulator still prints what is committed.
func TestOutsideCircuitSimulator(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("../../testdata/box/make.sh", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for name := range simulatedBoxes {
		committed := tables.Numbers(t, "../../testdata/box/"+name+".out")
		now := tables.Numbers(t, filepath.Join(dir, name+".out"))
		if len(now) != len(committed) {
			t.Fatalf("%s: %d rows, committed %d", name, len(now), len(committed))
		}
		for i, row := range committed {
			for k, v := range row {
				if !(math.Abs(now[i][k]-v) <= 1e-9*math.Abs(v)+1e-15) {
					t.Errorf("%s, row %d, column %d: %v, committed %v", name, i, k, now[i][k], v)
				}
			}
		}
	}
}
