//go:build outside

package main

import (
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"conewright/cmd/internal/browser"

	"github.com/chromedp/chromedp"
	"github.com/chromedp/chromedp/kb"
)

// TestOutsideSliders opens the teacher's handout in Chromium, at a desk and on a
// phone, moves the ring slider with the keyboard and holds the page against what
// conewright ring says about the same driver.
func TestOutsideSliders(t *testing.T) {
	dir := t.TempDir()
	sheet, saved := filepath.Join(dir, "teacher.html"), filepath.Join(dir, "lesson.json")
	conewright(t, 0, "lesson", "--virtual", "--seed", "3", "--handout", "teacher", "-o", sheet)
	conewright(t, 0, "lesson", "--virtual", "--seed", "3", "--json", "-o", saved)
	var ring struct {
		Ring struct {
			Before, After map[string]struct{ Value float64 }
		}
	}
	said, _ := conewright(t, 0, "ring", saved, "--ring", "5.0g", "--json")
	if err := json.Unmarshal([]byte(said), &ring); err != nil {
		t.Fatal(err)
	}
	hertz := func(f float64) string { return fmt.Sprintf("%.2f Hz", f) }
	q := func(v float64) string { return fmt.Sprintf("%.3f", v) }

	chromium := browser.Start(t)
	for name, view := range map[string]browser.View{"desk": {Width: 1280}, "phone": {Width: 390, Mobile: true}} {
		t.Run(name, func(t *testing.T) {
			p := chromium.Open(t, sheet, view)
			waitFor(t, p, `document.documentElement.dataset.play === "ready"`)
			text := func(id string) string {
				return browser.Eval[string](p, `document.getElementById("play-`+id+`").textContent`)
			}
			if got, want := text("now-fs"), hertz(ring.Ring.Before["Fs"].Value); got != want {
				t.Errorf("at rest the page says %s, the command %s", got, want)
			}
			curve := browser.Eval[string](p, `document.querySelector("#play-curve .line-after").getAttribute("d")`)
			// Ten presses of the right arrow are ten steps of half a gram.
			browser.Eval[bool](p, `document.getElementById("play-ring").focus() ?? true`)
			if err := chromedp.Do(p.Context(), chromedp.KeyEvent(strings.Repeat(kb.ArrowRight, 10))); err != nil {
				t.Fatal(err)
			}
			waitFor(t, p, fmt.Sprintf(`document.getElementById("play-now-fs").textContent === %q`, hertz(ring.Ring.After["Fs"].Value)))
			if got := text("ring-out"); got != "5 g" {
				t.Errorf("the slider says %q, want 5 g", got)
			}
			for id, want := range map[string]string{"now-qms": q(ring.Ring.After["Qms"].Value), "now-qes": q(ring.Ring.After["Qes"].Value), "now-qts": q(ring.Ring.After["Qts"].Value)} {
				if got := text(id); got != want {
					t.Errorf("%s: the page says %s, the command %s", id, got, want)
				}
			}
			if browser.Eval[string](p, `document.querySelector("#play-curve .line-after").getAttribute("d")`) == curve {
				t.Error("the curve did not move")
			}
			// Back to rest by the button.
			browser.Eval[bool](p, `document.getElementById("play-reset").click() ?? true`)
			waitFor(t, p, fmt.Sprintf(`document.getElementById("play-now-fs").textContent === %q`, hertz(ring.Ring.Before["Fs"].Value)))
			if wide := browser.Eval[float64](p, `document.documentElement.scrollWidth - innerWidth`); wide > 0 {
				t.Errorf("the page is %.0f px wider than the screen", wide)
			}
			for _, target := range []string{"input", "button"} {
				if h := browser.Eval[float64](p, `document.querySelector("#play-form `+target+`").getBoundingClientRect().height`); h < 44 {
					t.Errorf("%s is %.0f px high, too small for a finger", target, h)
				}
			}
			if got := p.Complaints(); len(got) > 0 {
				t.Errorf("the browser complains: %q", got)
			}
			if got := p.Requests(); len(got) != 1 {
				t.Errorf("the page asked for %q", got)
			}
			if dir := os.Getenv("CONEWRIGHT_PICTURES"); dir != "" {
				if err := os.WriteFile(filepath.Join(dir, "lesson-"+name+".png"), p.Picture(), 0o644); err != nil {
					t.Fatal(err)
				}
			}
		})
	}
}

// waitFor waits until an expression on the page is true.
func waitFor(t *testing.T, p *browser.Page, expression string) {
	t.Helper()
	for end := time.Now().Add(30 * time.Second); ; time.Sleep(50 * time.Millisecond) {
		if browser.Eval[bool](p, expression) {
			return
		}
		if time.Now().After(end) {
			picture(t, p, "failed")
			t.Fatalf("this did not become true: %s", expression)
		}
	}
}
