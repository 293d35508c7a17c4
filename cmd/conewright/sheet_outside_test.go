//go:build outside

package main

import (
	"bytes"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/browser"
)

// TestOutsideDemoSheets does what the demo says, with --report, pairs its two
// woofers and takes all its sweeps as a lot, and opens the sheets in Chromium on
// a desk and on a phone.
func TestOutsideDemoSheets(t *testing.T) {
	dir := t.TempDir()
	t.Chdir(dir)
	// Only an answer is wanted here, whichever it is: 0, 3 or 4.
	answered := func(args ...string) {
		t.Helper()
		var out, complaints bytes.Buffer
		if code := run(args, strings.NewReader(""), &out, &complaints); code != 0 && code != 3 && code != 4 {
			t.Fatalf("%s: exit code %d\n%s", strings.Join(args, " "), code, complaints.String())
		}
	}
	answered("demo", "--keep", "kept")
	t.Chdir(filepath.Join(dir, "kept"))
	commands, err := os.ReadFile("commands.txt")
	if err != nil {
		t.Fatal(err)
	}
	says := map[string][]string{} // what each sheet must say
	var sheets []string
	sheet := func(words ...string) string {
		path := filepath.Join(dir, fmt.Sprintf("sheet-%d.html", len(sheets)+1))
		sheets, says[path] = append(sheets, path), append(words, "How this was measured")
		return path
	}
	for _, line := range strings.Split(string(commands), "\n") {
		words := strings.Fields(line)
		if len(words) < 2 || words[0] != "conewright" || words[1] != "compare" {
			continue
		}
		answered(append(words[1:], "--report", sheet("Values and their limits", "What changed", "Impedance over frequency", "SHA-256"))...)
	}
	if len(sheets) == 0 {
		t.Fatal("the demo compares nothing")
	}
	answered("pair", "left-after.wav", "right-after.wav", "--bench", "bench.toml", "--report", sheet("Right against left", "does not match", "Impedance over frequency"))
	answered("batch", "left-before.wav", "left-after.wav", "right-before.wav", "right-after.wav", "--spec", "larch.toml", "--bench", "bench.toml",
		"--report", sheet("Values in the order of measurement", "Units", "right-after"))
	chromium := browser.Start(t)
	for _, path := range sheets {
		for _, view := range []browser.View{{Width: 1280}, {Width: 390, Mobile: true}} {
			p := chromium.Open(t, path, view)
			for _, problem := range p.Problems() {
				t.Errorf("%s at %d px: %s", filepath.Base(path), view.Width, problem)
			}
			text := browser.Eval[string](p, `document.body.innerText`)
			for _, want := range says[path] {
				if !strings.Contains(text, want) {
					t.Errorf("%s does not say %q", filepath.Base(path), want)
				}
			}
		}
	}
}
