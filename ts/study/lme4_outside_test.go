//go:build outside

package study

import (
	"os/exec"
	"strings"
	"testing"
)

// TestOutsideLme4 runs lme4 anew and compares with what it prints now.
func TestOutsideLme4(t *testing.T) {
	cmd := exec.Command("Rscript", "lme4.R")
	cmd.Dir = "../../testdata/study"
	out, err := cmd.Output()
	if err != nil {
		t.Fatalf("Rscript lme4.R: %v (Debian: r-cran-lme4)", err)
	}
	compareWithLme4(t, strings.NewReader(string(out)))
}
