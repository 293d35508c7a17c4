//go:build outside

package main

import (
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/browser"
)

// TestOutsideBenchJobInBook goes through a job on the virtual bench in a browser: sweep and repeat, repair, sweep;
// the folder that the page leaves becomes a job of the book, which is found, compared, has its customer's sheet,
// and knows the kinds of its repeats.
func TestOutsideBenchJobInBook(t *testing.T) {
	options := virtualPage(t, "6")
	p := browser.Start(t).Visit(t, startBench(t, options), browser.View{Width: 1280})
	heading(t, p, "Connect the bench")
	press(t, p, "Same bench")
	heading(t, p, "Which driver is it?")
	press(t, p, "Go on to the sweep")
	heading(t, p, "Before the repair, no mass on the cone")
	press(t, p, "Start the sweep")
	press(t, p, "Once more, taken off and put back")
	waitFor(t, p, `document.querySelectorAll("#list li").length === 2 && !document.querySelector("#playing").checkVisibility()`)
	press(t, p, "Put a mass on the cone")
	press(t, p, "This is on the cone")
	press(t, p, "Start the sweep")
	waitFor(t, p, `document.querySelectorAll("#list li").length === 3`)
	press(t, p, "Repaired: sweep it after")
	heading(t, p, "After the repair, no mass on the cone")
	press(t, p, "Start the sweep")
	press(t, p, "Put a mass on the cone")
	press(t, p, "This is on the cone")
	press(t, p, "Start the sweep")
	waitFor(t, p, `document.querySelectorAll("#list li").length === 5`)
	press(t, p, "Verdict")
	waitFor(t, p, `document.querySelector("#headline").textContent === "IN SPEC"`)

	kept := t.TempDir()
	said, _ := conewright(t, 0, "job", "import", filepath.Join(options.folder, "left-woofer"), "--book", kept)
	if !strings.HasSuffix(said, "left-woofer is job:1\n") {
		t.Errorf("%q", said)
	}
	said, _ = conewright(t, 0, "job", "find", "left", "woofer", "--book", kept)
	if !strings.Contains(said, "job:1") || !strings.Contains(said, "new-surround") {
		t.Errorf("not found: %s", said)
	}
	said, _ = conewright(t, 0, "compare", "job:1/left-woofer", "--book", kept)
	if !strings.Contains(said, "IN SPEC") {
		t.Errorf("the book says another thing than the page: %s", said)
	}
	said, _ = conewright(t, 0, "job", "show", "job:1", "--book", kept, "--json")
	if !strings.Contains(said, `"name": "before-free-2-re-clamped.wav", "repeat": "re-clamped"`) || strings.Count(said, `"operator"`) != 5 {
		t.Error("the book does not have the five sweeps, one of them re-clamped")
	}
	pdf := filepath.Join(kept, "left.pdf")
	conewright(t, 0, "job", "sheet", "job:1", "--pdf", pdf, "--book", kept)
	text, err := exec.Command("pdftotext", "-layout", pdf, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"left woofer", "before-free-1.wav", "after-20.0g-1.wav"} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the customer's sheet does not say %q:\n%s", want, text)
		}
	}
}
