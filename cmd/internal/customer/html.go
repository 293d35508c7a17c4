package customer

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"conewright/cmd/internal/page"
	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/report"
)

//go:embed customer.html
var source string

//go:embed customer.css
var style string

var body = template.Must(template.New("customer").Funcs(template.FuncMap{
	"neat": report.Neat,
	"mark": func(m report.Mark) string { return [...]string{"", "good", "bad", "open"}[m] },
	"sign": sign,
	"last": func(s *Sheet, i int) bool { return i == len(s.Parts)-1 },
	"class": func(t report.Table, i int) string {
		if t.Columns[i].Align != report.Left {
			return "right"
		}
		return ""
	},
	"figure": func(f plot.Figure, id string) (template.HTML, error) {
		if f == nil {
			return "", nil
		}
		return page.Figure(f, id, "")
	},
}).Parse(source))

// sign is the mark of a verdict where there is no colour.
func sign(m report.Mark) string { return [...]string{"", "✓", "✗", "?"}[m] }

// WriteHTML writes the sheet as one file that needs nothing else.
func WriteHTML(w io.Writer, s *Sheet) error {
	var b bytes.Buffer
	if err := body.Execute(&b, s); err != nil {
		return fmt.Errorf("rendering the sheet: %w", err)
	}
	return page.Page{Kind: "Repair sheet", Title: s.Parts[0].Title + ": " + s.Title, Style: template.CSS(style), Body: template.HTML(b.String())}.Write(w)
}
