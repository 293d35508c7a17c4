//go:build outside

package main

import (
	"encoding/base64"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/browser"
)

// TestOutsideBenchJobInBook goes through a job on the virtual bench in a browser: sweep and repeat, repair, sweep;
// a button keeps it in the book, twice pressed only once; there it is found, compared, and knows the kinds of its
// repeats, and the page gives the customer's sheet.
func TestOutsideBenchJobInBook(t *testing.T) {
	options := virtualPage(t, "6")
	chromium, address := browser.Start(t), startBench(t, options)
	p := chromium.Visit(t, address, browser.View{Width: 1280})
	wholeJob(t, p, func(string) {})
	picture(t, p, "bench-verdict-before-book")
	kept := filepath.Join(options.folder, inventedBook)
	if place := browser.Eval[string](p, `document.querySelector("#book-place").textContent`); !strings.Contains(place, "invented") || !strings.Contains(place, kept) {
		t.Errorf("before the button it says %q", place)
	}
	says := func(want string) {
		t.Helper()
		waitFor(t, p, fmt.Sprintf(`document.querySelector("#kept-says").textContent === %q`, want))
		for _, problem := range browser.Eval[[]string](p, usable) {
			t.Error(problem)
		}
	}
	press(t, p, "Keep in the book")
	says("This is job:1.")
	press(t, p, "Keep in the book")
	says("This is job:1, which has all of these sweeps already; no sweep was added.")
	picture(t, p, "bench-verdict-kept")
	phone := chromium.Visit(t, address, browser.View{Width: 390, Mobile: true})
	waitFor(t, phone, `document.querySelector("#kept-sheet")?.checkVisibility() ?? false`)
	for _, problem := range browser.Eval[[]string](phone, usable) {
		t.Errorf("on a phone: %s", problem)
	}
	picture(t, phone, "bench-verdict-kept-phone")
	browser.Eval[bool](p, `fetch(document.querySelector("#kept-sheet a").href).then(async r => {
		const data = Array.from(new Uint8Array(await r.arrayBuffer()), b => String.fromCharCode(b)).join("");
		window.fetched = r.status + " " + r.headers.get("Content-Disposition") + " " + btoa(data);
	}) && true`)
	waitFor(t, p, `"fetched" in window`)
	fetched := browser.Eval[string](p, "window.fetched")
	encoded, ok := strings.CutPrefix(fetched, `200 attachment; filename="job-1.pdf" `)
	sheet, err := base64.StdEncoding.DecodeString(encoded)
	if !ok || err != nil {
		t.Fatalf("the customer's sheet comes as %.80q, %v", fetched, err)
	}
	said, _ := conewright(t, 0, "job", "import", filepath.Join(options.folder, "left-woofer"), "--book", kept)
	if !strings.HasSuffix(said, "left-woofer is job:1, which has all of these sweeps already; no sweep was added\n") {
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
	pdf := filepath.Join(t.TempDir(), "left.pdf")
	if err := os.WriteFile(pdf, sheet, 0o666); err != nil {
		t.Fatal(err)
	}
	text, err := exec.Command("pdftotext", "-layout", pdf, "-").Output()
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []string{"left woofer", "before-free-1.wav", "after-20.0g-1.wav"} {
		if !strings.Contains(string(text), want) {
			t.Errorf("the customer's sheet does not say %q:\n%s", want, text)
		}
	}

	if err := os.WriteFile(filepath.Join(kept, "book.sqlite"), []byte(strings.Repeat("walnut ", 2000)), 0o666); err != nil {
		t.Fatal(err)
	}
	press(t, p, "Keep in the book")
	waitFor(t, p, `document.querySelector("#keep-in-book + #wrong")?.checkVisibility() ?? false`)
	picture(t, p, "bench-verdict-damaged-book")
	for _, problem := range browser.Eval[[]string](p, usable) {
		t.Errorf("with a damaged book: %s", problem)
	}
	waitFor(t, p, `!document.querySelector("#kept-sheet").checkVisibility() && document.activeElement.id === "keep-in-book"`)
	if got := browser.Eval[string](p, `document.querySelector("#headline").textContent + document.querySelector("#kept-says").textContent`); got != "IN SPEC" {
		t.Errorf("with a damaged book the page shows %q", got)
	}
	if got := p.Complaints(); len(got) > 0 && !strings.Contains(strings.Join(got, ""), "409") {
		t.Errorf("the browser complains: %q", got)
	}
}
