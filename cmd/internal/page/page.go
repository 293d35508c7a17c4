package page

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"

	"conewright/cmd/internal/plot"
)

//go:embed page.html
var frameSource string

//go:embed page.css
var style string

var frame = template.Must(template.New("page").Parse(frameSource))

// Page is one HTML file.
type Page struct {
	Kind  string // what kind of sheet it is, above the title
	Title string
	Date  string // as printed; may be empty
	Style template.CSS
	Body  template.HTML
	// Scripts allows the scripts that stand in Body; without it the page forbids
	// every script.
	Scripts bool
}

// CSS is the style sheet of the page and its figures.
func (p Page) CSS() template.CSS {
	return template.CSS(style+plot.CSS()) + p.Style
}

// Policy is what the page allows itself: nothing from the network, ever.
func (p Page) Policy() string {
	policy := "default-src 'none'; style-src 'unsafe-inline'; img-src data:"
	if p.Scripts {
		policy += "; script-src 'unsafe-inline' 'wasm-unsafe-eval'"
	}
	return policy
}

// Write writes the page as a whole or not at all.
func (p Page) Write(w io.Writer) error {
	var b bytes.Buffer
	if err := frame.Execute(&b, p); err != nil {
		return fmt.Errorf("rendering the page: %w", err)
	}
	_, err := w.Write(b.Bytes())
	return err
}

// Widths of the two drawings of a figure in pixels: for a desk and for paper,
// and for a phone.
const (
	Wide   = 720
	Narrow = 346
)

// Figure returns a figure with its title and a key as caption, drawn for both
// widths; the page shows the one that fits. The identifier is its own on the
// page.
func Figure(f plot.Figure, id, key string) (template.HTML, error) {
	var b bytes.Buffer
	title := template.HTMLEscapeString(f.Caption())
	fmt.Fprintf(&b, "<figure>\n<figcaption><b>%s</b>", title)
	if key != "" {
		fmt.Fprintf(&b, " %s", template.HTMLEscapeString(key))
	}
	b.WriteString("</figcaption>\n<div class=\"wide\">")
	if err := plot.WriteSVG(&b, f, plot.Options{ID: id + "w", Width: Wide}); err != nil {
		return "", err
	}
	b.WriteString("</div>\n<div class=\"narrow\">")
	if err := plot.WriteSVG(&b, f, plot.Options{ID: id + "n", Width: Narrow}); err != nil {
		return "", err
	}
	b.WriteString("</div>\n</figure>\n")
	return template.HTML(b.String()), nil
}
