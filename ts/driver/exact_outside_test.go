//go:build outside

package driver_test

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// The committed tables are what the committed program writes.
func TestOutsideExact(t *testing.T) {
	dir := t.TempDir()
	if out, err := exec.Command("python3", "../../testdata/exact/make.py", dir).CombinedOutput(); err != nil {
		t.Fatalf("%v\n%s", err, out)
	}
	for name := range exactDrivers {
		want, err := os.ReadFile(filepath.Join("../../testdata/exact", name+".txt"))
		if err != nil {
			t.Fatal(err)
		}
		got, err := os.ReadFile(filepath.Join(dir, name+".txt"))
		if err != nil {
			t.Fatal(err)
		}
		if string(got) != string(want) {
			t.Errorf("%s.txt differs from what make.py writes", name)
		}
	}
}
