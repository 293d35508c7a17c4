//go:build outside

package report

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/browser"

	"github.com/chromedp/chromedp"
)

// pictures names a directory for looking at the pages: with it set the test
// leaves what it saw there.
var pictures = os.Getenv("CONEWRIGHT_PICTURES")

func keep(t *testing.T, name string, data []byte) {
	t.Helper()
	if pictures == "" {
		return
	}
	if err := os.WriteFile(filepath.Join(pictures, name), data, 0o644); err != nil {
		t.Fatal(err)
	}
}

// TestOutsidePages opens every sample report in Chromium: on a desk, on a phone,
// light and dark.
func TestOutsidePages(t *testing.T) {
	views := map[string]browser.View{
		"desk":       {Width: 1280},
		"desk-dark":  {Width: 1280, Dark: true},
		"phone":      {Width: 390, Mobile: true},
		"phone-dark": {Width: 390, Mobile: true, Dark: true},
		"small":      {Width: 320, Mobile: true},
	}
	chromium := browser.Start(t)
	for name, r := range sampleReports(24) {
		path := filepath.Join(t.TempDir(), name+".html")
		var page bytes.Buffer
		if err := WriteHTML(&page, r); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(path, page.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
		for label, view := range views {
			if strings.HasSuffix(label, "dark") && name != "compare" {
				continue // colours are the same on every page
			}
			if label == "small" && name != "compare" && name != "batch" && name != "fit-masses" {
				continue // the widest texts are on these
			}
			t.Run(name+"/"+label, func(t *testing.T) {
				p := chromium.Open(t, path, view)
				lookAt(t, p, r)
				keep(t, name+"-"+label+".png", p.Picture())
			})
		}
	}
}

// lookAt checks what every page must be, at whatever width.
func lookAt(t *testing.T, p *browser.Page, r *Report) {
	for _, problem := range p.Problems() {
		t.Error(problem)
	}
	text := browser.Eval[string](p, `document.body.innerText`)
	for _, want := range append(append([]string{r.Title, r.Headline}, r.Body...), "How this was measured", "Conewright "+r.Version) {
		if !strings.Contains(text, neat(want)) {
			t.Errorf("the page does not say %q", want)
		}
	}
	for _, in := range r.Inputs {
		if !strings.Contains(text, in.Path) || !strings.Contains(text, in.SHA256) {
			t.Errorf("the page does not name %s and its checksum", in.Path)
		}
	}
	figures := browser.Eval[int](p, `[...document.querySelectorAll('svg.plot')].filter(s => s.getBoundingClientRect().width > 0).length`)
	if want := browser.Eval[int](p, `document.querySelectorAll('figure').length`); figures != want {
		t.Errorf("%d drawings are shown for %d figures", figures, want)
	}
}

// TestOutsideInspectionCanFail breaks a page in four ways and expects each to be
// noticed.
func TestOutsideInspectionCanFail(t *testing.T) {
	var page bytes.Buffer
	if err := WriteHTML(&page, sampleReports(24)["fit"]); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "fit.html")
	os.WriteFile(path, page.Bytes(), 0o644)
	p := browser.Start(t).Open(t, path, browser.View{Width: 1280})
	if got := p.Problems(); len(got) > 0 {
		t.Fatalf("the sound page: %q", got)
	}
	for what, breakIt := range map[string]string{
		"cut off":       `document.querySelector('svg.plot text').setAttribute('x', '-30')`,
		"lies on":       `{ const t = document.querySelectorAll('svg.plot text'); t[2].setAttribute('x', t[1].getAttribute('x')); t[2].setAttribute('y', t[1].getAttribute('y')); }`,
		"nothing in it": `document.querySelectorAll('svg.plot path').forEach(e => e.remove())`,
		"sticks out":    `document.querySelector('h1').style.width = '3000px'`,
	} {
		browser.Eval[string](p, breakIt+`; ""`)
		if got := strings.Join(p.Problems(), "\n"); !strings.Contains(got, what) {
			t.Errorf("%s was not noticed in %q", what, got)
		}
	}
}

// TestOutsidePaper prints reports on A4 and Letter and reads the PDF again.
func TestOutsidePaper(t *testing.T) {
	papers := map[string]struct {
		size   chromedp.PaperSize
		points string
	}{
		"a4":     {chromedp.PaperA4, "595"},
		"letter": {chromedp.PaperLetter, "612"},
	}
	chromium := browser.Start(t)
	for _, name := range []string{"compare", "check-out", "fit-masses", "pair", "batch"} {
		r := sampleReports(24)[name]
		dir := t.TempDir()
		path := filepath.Join(dir, name+".html")
		var page bytes.Buffer
		if err := WriteHTML(&page, r); err != nil {
			t.Fatal(err)
		}
		os.WriteFile(path, page.Bytes(), 0o644)
		for label, paper := range papers {
			t.Run(name+"/"+label, func(t *testing.T) {
				p := chromium.Open(t, path, browser.View{Width: 1280, Dark: true}) // dark: paper must not care
				pdf := filepath.Join(dir, name+"-"+label+".pdf")
				data := p.PDF(paper.size)
				os.WriteFile(pdf, data, 0o644)
				keep(t, filepath.Base(pdf), data)
				info := tool(t, "pdfinfo", pdf)
				if !strings.Contains(info, paper.points) {
					t.Errorf("not on %s: %s", label, info)
				}
				pages := 0
				for _, line := range strings.Split(info, "\n") {
					fmt.Sscanf(line, "Pages: %d", &pages)
				}
				if pages < 1 || pages > 3 {
					t.Errorf("%d pages; the sheet is made for at most three", pages)
				}
				text := strings.Join(strings.Fields(tool(t, "pdftotext", "-layout", pdf, "-")), " ")
				axis, words := "frequency, Hz", []string{"impedance, Ω", "phase, degrees"}
				if r.Lot != nil {
					axis, words = "Qts, limits at most 0.52", []string{"Fs, Hz, limits 27.9 to 34.1"}
				}
				for _, want := range append(words, r.Title, r.Headline, axis, "How this was measured") {
					if !strings.Contains(text, want) {
						t.Errorf("the print does not say %q", want)
					}
				}
				if !strings.HasSuffix(strings.ReplaceAll(text, " ", ""), fmt.Sprintf("%d/%d", pages, pages)) {
					t.Error("the last page is not numbered")
				}
				if strings.Count(text, axis) != 1 {
					t.Error("the figure for the phone was printed too")
				}
				paperIsWhite(t, pdf)
			})
		}
	}
}

// paperIsWhite makes sure that the corner of the first printed page carries no
// ink: the dark colours of the screen would cost a cartridge.
func paperIsWhite(t *testing.T, pdf string) {
	t.Helper()
	pgm := []byte(tool(t, "pdftoppm", "-r", "20", "-gray", "-f", "1", "-l", "1", pdf))
	var width, height, white int
	if _, err := fmt.Sscanf(string(pgm), "P5\n%d %d\n%d\n", &width, &height, &white); err != nil {
		t.Fatal(err)
	}
	pixels := pgm[len(pgm)-width*height:]
	light := 0
	for _, v := range pixels {
		if v > 200 {
			light++
		}
	}
	if pixels[0] != 255 || light < len(pixels)*3/4 {
		t.Errorf("%d of %d pixels are light", light, len(pixels))
	}
}

func tool(t *testing.T, name string, args ...string) string {
	t.Helper()
	out, err := exec.Command(name, args...).Output()
	if err != nil {
		t.Fatalf("%s: %v", name, err)
	}
	return string(out)
}
