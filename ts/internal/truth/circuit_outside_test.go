//go:build outside

package truth

import (
	"os/exec"
	"path/filepath"
	"testing"
)

// The simulator again, and what it writes today.
func TestOutsideCircuitSimulator(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("sh", filepath.Join("testdata", "circuit", "make.sh"), dir).CombinedOutput(); err != nil {
		t.Fatalf("the netlists: %v\n%s", err, out)
	}
	checkCircuits(t, dir)
}
