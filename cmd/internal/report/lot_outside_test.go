//go:build outside

package report

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/browser"
	"conewright/cmd/internal/saved"
	"conewright/ts/param"
	"conewright/ts/verdict"

	"github.com/chromedp/chromedp"
)

// inspectedLot is the report of a lot as the command builds it; a tenth of the units are undecided, a
// twentieth out of spec. With groups, they are of five.
func inspectedLot(t *testing.T, units int, groups bool) *Report {
	t.Helper()
	spec := sampleSpec()
	spec.Limits = append(spec.Limits, verdict.Limit{ID: param.Qms, Lo: 3, Hi: 6})
	l, err := NewLot(&spec, nil)
	if err != nil {
		t.Fatal(err)
	}
	random := rand.New(rand.NewPCG(7, 8))
	for i := range units {
		d := sampleTired
		d.Cms *= 1 + 0.03*random.NormFloat64()
		d.Re *= 1 + 0.01*random.NormFloat64()
		u := &batch.Unit{Name: fmt.Sprintf("larch-%03d", i+1), Parameters: sampleSide(1, "", d, 0.003).Parameters,
			Inputs: []saved.Input{{Path: "x.csv", SHA256: strings.Repeat("a5", 32)}}, About: saved.Settings{{Name: "serial", Value: fmt.Sprint(70000 + i)}}}
		if groups {
			u.About = append(u.About, saved.Setting{Name: GroupColumn, Value: fmt.Sprintf("day %d", i/5+1)})
		}
		u.Checked = &verdict.Checked{Parameters: u.Parameters, Spec: spec, Verdict: verdict.InSpec}
		for k, limit := range spec.Limits {
			e, _ := u.Parameters.Get(limit.ID)
			v := verdict.InSpec
			switch {
			case k == 1 && i%20 == 0:
				v = verdict.OutOfSpec
			case k == 1 && i%10 == 5:
				v = verdict.Undecided
			}
			u.Checked.Checks = append(u.Checked.Checks, verdict.Judged{Limit: limit, Known: true, Estimate: e, Verdict: v})
			if v != verdict.InSpec {
				u.Checked.Verdict = v
			}
		}
		l.Add(u)
	}
	r := Batch(Job{Version: "0.0.0"}, sampleBench, l)
	r.First, r.Tables = l.FirstTable(), append(r.Tables, l.UnitTable())
	return r
}

// TestOutsideLotOnPaper prints 200 units, of which 30 have to be dealt with, on at most four pages.
func TestOutsideLotOnPaper(t *testing.T) {
	chromium := browser.Start(t)
	for name, groups := range map[string]bool{"lot": false, "lot-groups": true} {
		var page bytes.Buffer
		if err := WriteHTML(&page, inspectedLot(t, 200, groups)); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(t.TempDir(), name+".html")
		if err := os.WriteFile(path, page.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		for _, view := range []browser.View{{Width: 1280}, {Width: 390, Mobile: true}} {
			p := chromium.Open(t, path, view)
			for _, problem := range p.Problems() {
				t.Errorf("%s at %d px: %s", name, view.Width, problem)
			}
			keep(t, fmt.Sprintf("%s-%d.png", name, view.Width), p.Picture())
		}
		data := chromium.Open(t, path, browser.View{Width: 1280}).PDF(chromedp.PaperA4)
		pdf := strings.TrimSuffix(path, "html") + "pdf"
		if err := os.WriteFile(pdf, data, 0o644); err != nil {
			t.Fatal(err)
		}
		keep(t, name+".pdf", data)
		pages := 0
		for _, line := range strings.Split(tool(t, "pdfinfo", pdf), "\n") {
			fmt.Sscanf(line, "Pages: %d", &pages)
		}
		if pages < 2 || pages > 4 {
			t.Errorf("%s: %d pages; 200 units are to take at most four", name, pages)
		}
		text := tool(t, "pdftotext", "-layout", pdf, "-")
		for _, want := range []string{"larch-200", "To be dealt with", "Capability of the process", "Best pairs", "How this was measured"} {
			if !strings.Contains(text, want) {
				t.Errorf("%s: the print does not say %q", name, want)
			}
		}
	}
}
