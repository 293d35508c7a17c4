package plot

import (
	"bytes"
	"fmt"
	"io"
	"math"
	"regexp"
	"strconv"
	"strings"
)

// Options say how a figure is written.
type Options struct {
	// ID makes the identifiers inside the drawing unique on a page. It starts
	// with a letter and holds letters, digits and hyphens.
	ID string
	// Width in pixels; 0: 720. Text keeps its size, so a phone is served by a
	// second drawing of 360 and not by shrinking this one.
	Width float64
	// Standalone makes a file of its own: with its style sheet, its title drawn
	// and a background. Without it the page must carry [CSS].
	Standalone bool
}

var validID = regexp.MustCompile(`^[A-Za-z][A-Za-z0-9-]*$`)

// WriteSVG draws a figure. It writes nothing when the figure is refused.
func WriteSVG(w io.Writer, f Figure, o Options) error {
	if !validID.MatchString(o.ID) {
		return &DataError{"options", fmt.Sprintf("%q cannot be an identifier", o.ID)}
	}
	if o.Width == 0 {
		o.Width = 720
	}
	if !(o.Width >= 240 && o.Width <= 4000) {
		return &DataError{"options", fmt.Sprintf("a width of %v pixels cannot be drawn", o.Width)}
	}
	if err := f.check(); err != nil {
		return err
	}
	s := f.layout(o.Width, o.Standalone)
	_, err := w.Write(s.svg(f.about(), o))
	return err
}

func (s *scene) svg(a About, o Options) []byte {
	var b bytes.Buffer
	num := func(v float64) string { return string(appendNumber(nil, v)) }
	sheet := box{0, 0, s.width, s.height}
	if o.Standalone {
		sheet = sheet.grow(12)
	}
	w, h := num(sheet.x1-sheet.x0), num(sheet.y1-sheet.y0)
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" class="plot" role="img" aria-labelledby="%s-t %s-d" viewBox="%s %s %s %s"`,
		o.ID, o.ID, num(sheet.x0), num(sheet.y0), w, h)
	if o.Standalone {
		fmt.Fprintf(&b, ` width="%s" height="%s"`, w, h)
	}
	fmt.Fprintf(&b, ` font-family="%s" font-size="%s">`+"\n", fontFamily, num(tickSize))
	fmt.Fprintf(&b, "<title id=\"%s-t\">%s</title>\n<desc id=\"%s-d\">%s</desc>\n", o.ID, escape(a.Title), o.ID, escape(a.Desc))
	if o.Standalone {
		fmt.Fprintf(&b, "<style>%s</style>\n", CSS())
	}
	b.WriteString("<defs>")
	if s.uses("hatch") {
		fmt.Fprintf(&b, `<pattern id="%s-h" width="7" height="7" patternUnits="userSpaceOnUse" patternTransform="rotate(45)"><path d="M0 0V7" %s/></pattern>`,
			o.ID, attributes("hatchline"))
	}
	for i, c := range s.clips {
		fmt.Fprintf(&b, `<clipPath id="%s-c%d"><path d="%s"/></clipPath>`, o.ID, i+1, rectPath(c))
	}
	b.WriteString("</defs>\n")
	if o.Standalone {
		fmt.Fprintf(&b, "<path d=\"%s\" %s/>\n", rectPath(sheet), attributes("paper"))
	}
	for _, m := range s.marks {
		clip := ""
		if m.clip > 0 {
			clip = fmt.Sprintf(` clip-path="url(#%s-c%d)"`, o.ID, m.clip)
		}
		switch {
		case m.text != "":
			anchor := ""
			if m.align != "start" {
				anchor = fmt.Sprintf(` text-anchor="%s"`, m.align)
			}
			lead := ""
			if m.lead != "" {
				lead = `<tspan font-weight="bold">` + escape(m.lead) + "</tspan>\u2002"
			}
			fmt.Fprintf(&b, "<text x=\"%s\" y=\"%s\"%s %s>%s%s</text>\n", num(m.at.x), num(m.at.y), anchor, attributes(m.class), lead, escape(m.text))
		case m.class == "hatch":
			fmt.Fprintf(&b, "<path d=\"%s\" fill=\"url(#%s-h)\"%s/>\n", m.path, o.ID, clip)
		default:
			fmt.Fprintf(&b, "<path d=\"%s\" %s%s/>\n", m.path, attributes(m.class), clip)
		}
	}
	b.WriteString("</svg>\n")
	return b.Bytes()
}

func (s *scene) uses(class string) bool {
	for _, m := range s.marks {
		if m.class == class {
			return true
		}
	}
	return false
}

func rectPath(b box) string {
	var p pen
	p.rect(b)
	return string(p)
}

// appendNumber writes a length with one decimal, which on paper is finer than
// a printer's dot.
func appendNumber(b []byte, v float64) []byte {
	v = math.Round(v*10) / 10
	if v == 0 {
		return append(b, '0') // never -0
	}
	return strconv.AppendFloat(b, v, 'f', -1, 64)
}

func appendPoint(b []byte, p point) []byte {
	b = appendNumber(b, p.x)
	return appendNumber(append(b, ' '), p.y)
}

// escape makes any text safe inside an element or an attribute, also text with
// characters that XML does not allow at all.
func escape(s string) string {
	s = strings.Map(func(r rune) rune {
		if r == '\t' || r == '\n' || r >= 0x20 && r != 0xFFFE && r != 0xFFFF {
			return r
		}
		return '\uFFFD'
	}, strings.ToValidUTF8(s, "\uFFFD"))
	return strings.NewReplacer("&", "&amp;", "<", "&lt;", ">", "&gt;", `"`, "&quot;").Replace(s)
}
