//go:build outside

package ts_test

import (
	"os"
	"os/exec"
	"testing"
)

// The script still prints the long digits that the handbook tests quote.
func TestOutsideHandbookDigits(t *testing.T) {
	cmd := exec.Command("python3", "derived.py")
	cmd.Dir = "../testdata/handbook"
	got, err := cmd.Output()
	if err != nil {
		t.Fatal(err)
	}
	want, err := os.ReadFile("../testdata/handbook/derived.txt")
	if err != nil {
		t.Fatal(err)
	}
	if string(got) != string(want) {
		t.Errorf("the script prints\n%swe have\n%s", got, want)
	}
}
