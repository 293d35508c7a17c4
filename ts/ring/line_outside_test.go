//go:build outside

package ring

import (
	"os"
	"os/exec"
	"testing"
)

// scipy's orthogonal distance regression still prints what is committed.
func TestOutsideLineODR(t *testing.T) {
	cmd := exec.Command("/usr/bin/python3", "odr.py")
	cmd.Dir = "../../testdata/line"
	got, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	want, err := os.ReadFile("../../testdata/line/pearson-york-odr.txt")
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != string(want) {
		t.Errorf("scipy prints %swe have %s", got, want)
	}
}
