//go:build outside

package wav

import (
	"os"
	"os/exec"
	"path/filepath"
	"testing"
)

// sox and ffmpeg of today write files that are read like the committed ones.
func TestOutsideWAVOfCommonPrograms(t *testing.T) {
	dir := t.TempDir()
	for _, name := range []string{"source.wav", "make.sh"} {
		b, err := os.ReadFile(filepath.Join("..", "..", "..", "testdata", "wav", name))
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, name), b, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	cmd := exec.Command("sh", "make.sh")
	cmd.Dir = dir
	if out, err := cmd.CombinedOutput(); err != nil {
		t.Fatalf("make.sh: %v\n%s", err, out)
	}
	checkCommonPrograms(t, dir)
}
