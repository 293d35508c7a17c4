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

// TestOutsideDemoSheets does what the demo says, with --report, and opens the
// sheets in Chromium on a desk and on a phone.
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
	var sheets []string
	for _, line := range strings.Split(string(commands), "\n") {
		words := strings.Fields(line)
		if len(words) < 2 || words[0] != "conewright" || words[1] != "compare" {
			continue
		}
		sheet := filepath.Join(dir, fmt.Sprintf("sheet-%d.html", len(sheets)+1))
		sheets = append(sheets, sheet)
		answered(append(words[1:], "--report", sheet)...)
	}
	if len(sheets) == 0 {
		t.Fatal("the demo compares nothing")
	}
	chromium := browser.Start(t)
	for _, sheet := range sheets {
		for _, view := range []browser.View{{Width: 1280}, {Width: 390, Mobile: true}} {
			p := chromium.Open(t, sheet, view)
			for _, problem := range p.Problems() {
				t.Errorf("%s at %d px: %s", filepath.Base(sheet), view.Width, problem)
			}
			text := browser.Eval[string](p, `document.body.innerText`)
			for _, want := range []string{"Values and their limits", "What changed", "Impedance over frequency", "How this was measured", "SHA-256"} {
				if !strings.Contains(text, want) {
					t.Errorf("%s does not say %q", filepath.Base(sheet), want)
				}
			}
		}
	}
}
