//go:build outside

package main

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"conewright/cmd/internal/browser"
)

// Parts of the network, at a desk and on a phone: known things, a mistake, then parts with their verdicts and a pair.
func TestOutsideBenchParts(t *testing.T) {
	chromium := browser.Start(t)
	for name, view := range map[string]browser.View{"desk": {Width: 1280}, "phone": {Width: 390, Mobile: true}} {
		t.Run(name, func(t *testing.T) {
			p := chromium.Visit(t, startBench(t, virtualPage(t, "30")), view)
			look := func(screen string) {
				t.Helper()
				picture(t, p, "bench-"+name+"-parts-"+screen)
				for _, problem := range browser.Eval[[]string](p, usable) {
					t.Errorf("%s: %s", screen, problem)
				}
			}
			fill := func(field, text string) {
				t.Helper()
				browser.Eval[bool](p, fmt.Sprintf(`(() => { const f = document.querySelector("#parts-form [name=%s]"); f.value = %q; return f.dispatchEvent(new Event("change", { bubbles: true })); })()`, field, text))
			}
			record := func(recordings int) {
				t.Helper()
				press(t, p, "Record it")
				waitFor(t, p, fmt.Sprintf(`document.querySelectorAll("#list li").length === %d && !document.querySelector("#playing").checkVisibility()`, recordings))
			}
			heading(t, p, "Connect the bench")
			press(t, p, "Same bench")
			press(t, p, "Go on to the sweep")
			heading(t, p, "Before the repair, no mass on the cone")
			browser.Eval[bool](p, `document.querySelector("[data-screen=parts]").click() ?? true`)
			heading(t, p, "Parts of the network")
			look("1-begin")
			record(1)
			record(2)
			waitFor(t, p, `document.querySelector("#parts-form [name=role]").value === "load"`)
			press(t, p, "Record it")
			waitFor(t, p, `document.querySelector("#wrong")?.previousSibling.name === "ohm"`)
			look("2-mistake")
			fill("ohm", "100.03 ohm")
			record(3)
			for i, part := range []string{"C1 old", "C1 left", "C1 right"} {
				fill("name", part)
				fill("nominal", "6.8 uF")
				fill("tolerance", "5 %")
				record(4 + i)
			}
			waitFor(t, p, `document.querySelectorAll("#parts-table tbody tr").length === 3 && document.querySelectorAll("#parts-pairs li").length === 1`)
			look("3-parts")
			if got := browser.Eval[[]string](p, `[...document.querySelectorAll("#parts-table td:last-child")].map(e => e.textContent)`); !slices.Equal(got, []string{"out of spec", "in spec", "in spec"}) {
				t.Errorf("the verdicts are %q", got)
			}
			press(t, p, "All parts as a sheet")
			waitFor(t, p, `document.querySelector("#headline").textContent === "NOT IN SPEC: C1 old"`)
			look("4-sheet")
			press(t, p, "Keep in the book")
			waitFor(t, p, `document.querySelector("#kept-says").textContent === "This is job:1."`)
			expected := func(complaint string) bool { return strings.Contains(complaint, "409") } // the mistake
			if got := slices.DeleteFunc(p.Complaints(), expected); len(got) > 0 {
				t.Errorf("the browser complains: %q", got)
			}
		})
	}
}
