//go:build outside

package main

import (
	"fmt"
	"slices"
	"strings"
	"testing"

	"conewright/cmd/internal/browser"
)

// In the cabinet, before and after a new gasket, at a desk and on a phone: the leak is named, and the box is kept in the book.
func TestOutsideBenchCabinet(t *testing.T) {
	chromium := browser.Start(t)
	for name, view := range map[string]browser.View{"desk": {Width: 1280}, "phone": {Width: 390, Mobile: true, Dark: true}} {
		t.Run(name, func(t *testing.T) {
			p := chromium.Visit(t, startBench(t, virtualPage(t, "12")), view)
			look := func(screen string) {
				t.Helper()
				picture(t, p, "bench-"+name+"-cabinet-"+screen)
				for _, problem := range browser.Eval[[]string](p, usable) {
					t.Errorf("%s: %s", screen, problem)
				}
			}
			swept := func(where string) {
				t.Helper()
				press(t, p, "Start the sweep")
				waitFor(t, p, `[...document.querySelectorAll("#list .name")].some(e => e.textContent === "`+where+`") && !document.querySelector("#playing").checkVisibility()`)
			}
			heading(t, p, "Connect the bench")
			press(t, p, "Same bench")
			press(t, p, "Go on to the sweep")
			heading(t, p, "Before the repair, no mass on the cone")
			swept("Before, no mass")
			browser.Eval[bool](p, `document.querySelector("[data-screen=cabinet]").click() ?? true`)
			heading(t, p, "In the cabinet, before the work")
			fill := func(field, text string) {
				t.Helper()
				browser.Eval[bool](p, fmt.Sprintf(`(() => { const f = document.querySelector("#cabinet-form [name=%s]"); f.value = %q; return f.dispatchEvent(new Event("change", { bubbles: true })); })()`, field, text))
			}
			fill("volume", "60 Hz")
			waitFor(t, p, `document.querySelector("#wrong")?.previousSibling.name === "volume"`)
			look("1-mistake")
			fill("volume", "60 L")
			fill("tuning", "34 Hz")
			waitFor(t, p, `!document.querySelector("#wrong")`)
			swept("In the cabinet, before")
			press(t, p, "Work done: sweep it after")
			heading(t, p, "In the cabinet, after the work")
			swept("In the cabinet, after")
			look("2-swept")
			press(t, p, "What the box says")
			waitFor(t, p, `document.querySelector("#headline").textContent === "DIFFERENT: a leak of the box (before)"`)
			look("3-answer")
			if got := browser.Eval[string](p, `[...document.querySelectorAll("#answer-values th[scope=row]")].map(e => e.textContent).join(" ")`); !strings.HasPrefix(got, "Fb QB") {
				t.Errorf("the values are %q", got)
			}
			press(t, p, "Keep in the book")
			waitFor(t, p, `document.querySelector("#kept-says").textContent === "This is job:1."`)
			expected := func(complaint string) bool { return strings.Contains(complaint, "409") } // the mistake
			if got := slices.DeleteFunc(p.Complaints(), expected); len(got) > 0 {
				t.Errorf("the browser complains: %q", got)
			}
		})
	}
}
