//go:build outside

package main

import (
	"bytes"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"conewright/cmd/internal/browser"
)

// printed collects what a command prints while it runs.
type printed struct {
	mu   sync.Mutex
	text bytes.Buffer
}

func (l *printed) Write(p []byte) (int, error) {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.Write(p)
}

func (l *printed) String() string {
	l.mu.Lock()
	defer l.mu.Unlock()
	return l.text.String()
}

// startBench starts the page with these options and returns its address; it ends with the
// test.
func startBench(t *testing.T, p pageOptions) string {
	t.Helper()
	ctx, stop := context.WithCancel(context.Background())
	var out printed
	ended := make(chan error)
	go func() { ended <- p.serve(ctx, &console{in: strings.NewReader(""), out: &out, err: &out, screen: &out}) }()
	t.Cleanup(func() {
		stop()
		if err := <-ended; err != nil {
			t.Error(err)
		}
	})
	for range 100 {
		if a := regexp.MustCompile(`http://\S+`).FindString(out.String()); a != "" {
			return a
		}
		time.Sleep(50 * time.Millisecond)
	}
	t.Fatal("the page has no address")
	return ""
}

// virtualPage are the options for a virtual bench.
func virtualPage(t *testing.T, speed string) pageOptions {
	t.Helper()
	var p pageOptions
	p.define(newOptionGroups("bench"))
	p.folder, p.closed, p.virtual.on = filepath.Join(t.TempDir(), "jobs"), true, true
	if err := p.virtual.speed.Set(speed); err != nil {
		t.Fatal(err)
	}
	return p
}

// press presses the button that shows this text, as soon as it is there.
func press(t *testing.T, p *browser.Page, text string) {
	t.Helper()
	found := fmt.Sprintf(`[...document.querySelectorAll("section:not([hidden]) button, dialog[open] button")].find(b => b.textContent.trim() === %q && !b.disabled && b.offsetParent)`, text)
	waitFor(t, p, "!!("+found+")")
	browser.Eval[bool](p, found+".click() ?? true")
}

// heading waits for a screen.
func heading(t *testing.T, p *browser.Page, text string) {
	t.Helper()
	waitFor(t, p, fmt.Sprintf(`document.querySelector("section:not([hidden]) h1")?.textContent === %q`, text))
}

// picture keeps a picture of the page where CONEWRIGHT_PICTURES says.
func picture(t *testing.T, p *browser.Page, name string) {
	t.Helper()
	if dir := os.Getenv("CONEWRIGHT_PICTURES"); dir != "" {
		if err := os.WriteFile(filepath.Join(dir, name+".png"), p.Picture(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
}

// wholeJob goes from "same bench" to the verdict of before and after, without typing anything; look is told
// each screen that it comes through.
func wholeJob(t *testing.T, p *browser.Page, look func(screen string)) {
	t.Helper()
	swept := func(sweeps int) {
		t.Helper()
		waitFor(t, p, fmt.Sprintf(`document.querySelectorAll("#list li").length === %d && !document.querySelector("#playing").checkVisibility()`, sweeps))
	}
	withMass := func(sweeps int) {
		t.Helper()
		press(t, p, "Put a mass on the cone")
		press(t, p, "This is on the cone")
		press(t, p, "Start the sweep")
		swept(sweeps)
	}
	heading(t, p, "Connect the bench")
	look("1-bench")
	press(t, p, "Same bench")
	heading(t, p, "Which driver is it?")
	look("2-driver")
	press(t, p, "Go on to the sweep")
	heading(t, p, "Before the repair, no mass on the cone")
	press(t, p, "Start the sweep")
	look("3-sweeping")
	press(t, p, "Once more, taken off and put back")
	swept(2)
	look("4-swept")
	withMass(3)
	look("5-mass")
	press(t, p, "Repaired: sweep it after")
	heading(t, p, "After the repair, no mass on the cone")
	press(t, p, "Start the sweep")
	withMass(5)
	press(t, p, "Verdict")
	waitFor(t, p, `document.querySelector("#headline").textContent === "IN SPEC"`)
	look("6-verdict")
}

// TestOutsideBenchWholeJob does the whole job on the virtual bench, at a desk and on a phone.
func TestOutsideBenchWholeJob(t *testing.T) {
	chromium := browser.Start(t)
	for name, view := range map[string]browser.View{"desk": {Width: 1280}, "phone": {Width: 390, Mobile: true}, "dark": {Width: 1280, Dark: true}} {
		t.Run(name, func(t *testing.T) {
			options := virtualPage(t, "6")
			p := chromium.Visit(t, startBench(t, options), view)
			began := time.Now()
			look := func(screen string) {
				t.Helper()
				switch screen {
				case "2-driver":
					if got := browser.Eval[string](p, `document.activeElement.textContent`); got != "Which driver is it?" {
						t.Errorf("the new screen has the focus on %q", got)
					}
				case "3-sweeping":
					waitFor(t, p, `document.querySelectorAll("#values .value").length > 3 && document.querySelector("#progress").value > 0.4`)
				}
				picture(t, p, "bench-"+name+"-"+screen)
				for _, problem := range browser.Eval[[]string](p, usable) {
					t.Errorf("%s: %s", screen, problem)
				}
			}
			heading(t, p, "Connect the bench")
			press(t, p, "Tone, 80 Hz")
			waitFor(t, p, `parseFloat(document.querySelector("#screen-bench .fill").style.width) > 40`)
			if name == "desk" {
				browser.Eval[string](p, `document.querySelector("[name=ohm]").value = "22.0 ohm"`)
				press(t, p, "Compare the inputs")
				waitFor(t, p, `document.querySelectorAll("#check-found li").length === 1`)
				press(t, p, "Find the wiring")
				waitFor(t, p, `document.querySelectorAll("#check-found li").length === 3`)
				t.Log(browser.Eval[string](p, `document.querySelector("#check-found").textContent`))
			}
			wholeJob(t, p, look)
			t.Logf("to the verdict in %.0f s", time.Since(began).Seconds())
			files, _ := filepath.Glob(filepath.Join(options.folder, "left-woofer", "*.wav"))
			var names []string
			for _, f := range files {
				names = append(names, filepath.Base(f))
			}
			if got := strings.Join(names, " "); got != "after-20.0g-1.wav after-free-1.wav before-20.0g-1.wav before-free-1.wav before-free-2-re-clamped.wav" {
				t.Errorf("the files are %s", got)
			}
			if got := p.Complaints(); len(got) > 0 {
				t.Errorf("the browser complains: %q", got)
			}
			for _, a := range p.Requests() {
				if !strings.HasPrefix(a, "http://127.0.0.1:") {
					t.Errorf("the page asked for %s", a)
				}
			}
		})
	}
}

// A job that was not finished is offered by the next run of the program, and gone on with.
func TestOutsideBenchGoesOn(t *testing.T) {
	options, chromium := virtualPage(t, "1000"), browser.Start(t)
	p := chromium.Visit(t, startBench(t, options), browser.View{Width: 1280})
	heading(t, p, "Connect the bench")
	press(t, p, "Same bench")
	press(t, p, "Go on to the sweep")
	press(t, p, "Start the sweep")
	waitFor(t, p, `document.querySelectorAll("#list li").length === 1`)
	sweeps := 1
	for name, view := range map[string]browser.View{"desk": {Width: 1280}, "phone": {Width: 390, Mobile: true, Dark: true}} {
		p := chromium.Visit(t, startBench(t, options), view)
		heading(t, p, "Connect the bench")
		picture(t, p, "bench-"+name+"-0-waiting")
		for _, problem := range browser.Eval[[]string](p, usable) {
			t.Errorf("%s: %s", name, problem)
		}
		if got := browser.Eval[[]string](p, `[...document.querySelectorAll("#screen-bench .main")].filter(b => b.checkVisibility()).map(b => b.textContent)`); !slices.Equal(got, []string{"Go on"}) {
			t.Errorf("%s: the main buttons are %q", name, got)
		}
		press(t, p, "Go on")
		heading(t, p, "Before the repair, no mass on the cone")
		waitFor(t, p, fmt.Sprintf(`document.querySelectorAll("#list li").length === %d`, sweeps))
		press(t, p, "Again, nothing touched")
		sweeps++
		waitFor(t, p, fmt.Sprintf(`document.querySelectorAll("#list li").length === %d`, sweeps))
	}
}

// Values of a data sheet with a mistake in one: it is said beside its field, which gets the focus,
// and nothing that was typed is lost.
func TestOutsideBenchPaperValues(t *testing.T) {
	options := virtualPage(t, "6")
	p := browser.Start(t).Visit(t, startBench(t, options), browser.View{Width: 390, Mobile: true})
	heading(t, p, "Connect the bench")
	press(t, p, "Same bench")
	heading(t, p, "Which driver is it?")
	browser.Eval[bool](p, `(() => {
		const form = document.querySelector("#driver-form").elements;
		form.sheet.value = "paper";
		form.sheet.dispatchEvent(new Event("change"));
		for (const [name, value] of [["name", "Larch 25"], ["fs", "31 mm"], ["qts", "0.38 +- 10 %"], ["re", "5.6"]]) form["paper-" + name].value = value;
		return true;
	})()`)
	press(t, p, "Go on to the sweep")
	waitFor(t, p, `document.querySelector("#wrong")?.checkVisibility() ?? false`)
	picture(t, p, "bench-phone-7-mistake")
	for _, problem := range browser.Eval[[]string](p, usable) {
		t.Error(problem)
	}
	type field struct{ Focus, Says, Beside, Qts string }
	got := browser.Eval[field](p, `({ Focus: document.activeElement.name, Says: document.querySelector("#wrong").textContent, Beside: document.querySelector("#wrong").previousSibling.name, Qts: document.querySelector("[name=paper-qts]").value })`)
	if got.Focus != "paper-fs" || got.Beside != "paper-fs" || got.Qts != "0.38 +- 10 %" || !strings.Contains(got.Says, "is not a unit of") {
		t.Errorf("the mistake is shown as %+v", got)
	}
	browser.Eval[string](p, `document.querySelector("[name=paper-fs]").value = "31 Hz"`)
	press(t, p, "Go on to the sweep")
	heading(t, p, "Before the repair, no mass on the cone")
	sheet, err := os.ReadFile(filepath.Join(options.folder, "left-woofer", "paper-values-1.toml"))
	if err != nil || !strings.Contains(string(sheet), `Qts = { nominal = "0.38", tolerance = "10 %" }`) {
		t.Errorf("the sheet is %s, %v", sheet, err)
	}
}

// usable lists what a finger, an eye or a screen reader would miss: parts that stick out,
// buttons too small for a finger, controls without a name, text with too little contrast
// (WCAG 2.1, 1.4.3 and its formula for relative luminance).
const usable = `(() => {
  const problems = [], width = document.documentElement.clientWidth;
  if (document.documentElement.scrollWidth > width) problems.push('the page is wider than the screen');
  const shown = e => e.checkVisibility() && e.getBoundingClientRect().width > 0;
  const name = e => (e.getAttribute('aria-label') || (e.labels && [...e.labels].map(l => l.textContent).join(' ')) || e.textContent || '').trim();
  for (const e of document.querySelectorAll('button, input, select, a, [role=slider], summary')) {
    if (!shown(e)) continue;
    const b = e.getBoundingClientRect();
    if (!name(e)) problems.push(e.outerHTML.slice(0, 80) + ' has no name');
    if (e.type !== 'checkbox' && b.height < 44) problems.push(name(e) + ' is ' + b.height + ' px high');
    if (b.left < -0.5 || b.right > width + 0.5) problems.push(name(e) + ' sticks out');
    if (e.tabIndex > 0) problems.push(name(e) + ' comes before its place in the order of focus');
    if (e.tabIndex < 0) problems.push(name(e) + ' cannot be reached by the keyboard');
  }
  const rgb = c => c.match(/[\d.]+/g).map(Number);
  const light = c => { const [r, g, b] = rgb(c).map(v => v / 255).map(v => v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4); return 0.2126 * r + 0.7152 * g + 0.0722 * b; };
  const ground = e => { for (; e; e = e.parentElement) { const c = getComputedStyle(e).backgroundColor, v = rgb(c); if (v.length < 4 || v[3] > 0.99) return c; } return 'rgb(255,255,255)'; };
  const seen = new Set();
  for (const e of document.querySelectorAll('body *')) {
    if (!shown(e) || e.closest('svg') || e.disabled || !e.placeholder && ![...e.childNodes].some(n => n.nodeType === 3 && n.textContent.trim())) continue;
    const a = light(getComputedStyle(e, e.placeholder ? '::placeholder' : null).color), b = light(ground(e)), ratio = (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
    const what = e.tagName + '.' + e.className;
    if (ratio < 4.5 && !seen.has(what)) { seen.add(what); problems.push(what + ' "' + e.textContent.trim().slice(0, 30) + '" has a contrast of ' + ratio.toFixed(1)); }
  }
  return problems;
})()`
