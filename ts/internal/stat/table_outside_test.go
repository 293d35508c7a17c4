//go:build outside

package stat

import (
	"bytes"
	"os/exec"
	"testing"
)

// TestOutsideDistributions runs scipy anew and compares with what it prints now.
func TestOutsideDistributions(t *testing.T) {
	cmd := exec.Command("/usr/bin/python3", "distributions.py")
	cmd.Dir = "../../../testdata/study"
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("distributions.py: %v (Debian: python3-scipy)", err)
	}
	compareWithScipy(t, bytes.NewReader(out))
}
