package page

import (
	"bytes"
	"html/template"
	"strings"
	"testing"

	"conewright/cmd/internal/plot"
)

func write(t *testing.T, p Page) string {
	t.Helper()
	var b bytes.Buffer
	if err := p.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.String()
}

func TestScriptsAreForbiddenUnlessAsked(t *testing.T) {
	if s := write(t, Page{Title: "t"}); strings.Contains(s, "script-src") || !strings.Contains(s, "default-src &#39;none&#39;") {
		t.Error("a page without scripts allows some")
	}
	s := write(t, Page{Title: "t", Scripts: true})
	if !strings.Contains(s, "script-src &#39;unsafe-inline&#39; &#39;wasm-unsafe-eval&#39;") || strings.Contains(s, "://") {
		t.Error("a page with scripts does not allow its own, or allows others")
	}
}

func TestFrameEscapesWords(t *testing.T) {
	s := write(t, Page{Title: "<i>", Kind: "<b>", Date: "<u>", Style: "p{color:red}", Body: "<p>kept</p>"})
	for _, bad := range []string{"<i>", "<b>", "<u>"} {
		if strings.Contains(s, bad) {
			t.Errorf("%s got in", bad)
		}
	}
	if !strings.Contains(s, "<p>kept</p>") || !strings.Contains(s, "p{color:red}") {
		t.Error("body or style is missing")
	}
}

func TestFigureHasTwoDrawings(t *testing.T) {
	f := plot.Gauges{About: plot.About{Title: "A & B", Desc: "d"}}
	got, err := Figure(f, "g1", "bar < line")
	if err != nil {
		t.Fatal(err)
	}
	for _, want := range []template.HTML{`id="g1w-t"`, `id="g1n-t"`, `<b>A &amp; B</b> bar &lt; line`, `viewBox="0 0 720 `, `viewBox="0 0 346 `} {
		if !strings.Contains(string(got), string(want)) {
			t.Errorf("%s is missing", want)
		}
	}
	if _, err := Figure(plot.Gauges{}, "g1", ""); err == nil {
		t.Error("a figure without title is drawn")
	}
}
