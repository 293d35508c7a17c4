package plot

import (
	"fmt"
	"regexp"
	"strconv"
	"strings"
)

// Canvas is paper of another kind than SVG. Lengths are pixels of the figure, from its upper
// left corner; colours are those of light paper.
type Canvas interface {
	// Path paints lines and areas; a clip limits what is painted.
	Path(path []Stroke, ink Ink, clip *Frame)
	// Text writes a line with its base line at (x, y); align is "start", "middle" or "end".
	Text(x, y float64, align, text string, size float64, bold bool, colour RGB)
}

// Stroke is one step of a path: to move there, to draw a line there, or to close it.
type Stroke struct {
	Op   byte // 'M', 'L' or 'Z'
	X, Y float64
}

// RGB is a colour.
type RGB struct{ R, G, B uint8 }

// Ink is how a path is painted; nil colours are not painted at all.
type Ink struct {
	Stroke, Fill *RGB
	Width        float64
	Dash         []float64 // nil: drawn through
	Round        bool      // ends of lines
	Square       bool
	Opacity      float64 // of stroke or fill, 0 to 1
}

// Frame is a rectangle.
type Frame struct{ X0, Y0, X1, Y1 float64 }

// Paint draws a figure on a canvas and returns its height in pixels. The figure is the same
// that [WriteSVG] writes at this width.
func Paint(c Canvas, f Figure, width float64) (height float64, err error) {
	if err := f.check(); err != nil {
		return 0, err
	}
	s := f.layout(width, false)
	for _, m := range s.marks {
		var clip *Frame
		if m.clip > 0 {
			b := s.clips[m.clip-1]
			clip = &Frame{b.x0, b.y0, b.x1, b.y1}
		}
		switch {
		case m.text != "":
			s.paintText(c, m)
		case m.class == "hatch":
			paintHatch(c, strokes(m.path))
		default:
			c.Path(strokes(m.path), inkOf(m.class), clip)
		}
	}
	return s.height, nil
}

// paintText writes a text, its bold lead first.
func (s *scene) paintText(c Canvas, m mark) {
	l := looks[m.class]
	size := tickSize
	if found := fontSize.FindStringSubmatch(l.more); found != nil {
		size, _ = strconv.ParseFloat(found[1], 64)
	}
	bold := strings.Contains(l.more, `font-weight="bold"`)
	colour := *rgb(l.fill)
	x := m.at.x
	if m.lead != "" {
		c.Text(x, m.at.y, "start", m.lead, size, true, colour)
		x += textWidth(m.lead, size)*1.08 + 0.5*size
	}
	c.Text(x, m.at.y, m.align, m.text, size, bold, colour)
}

// paintHatch fills the rectangle around a path with slanted lines as far apart as those of
// the pattern in SVG.
func paintHatch(c Canvas, path []Stroke) {
	b := Frame{1e9, 1e9, -1e9, -1e9}
	for _, p := range path {
		if p.Op != 'Z' {
			b = Frame{min(b.X0, p.X), min(b.Y0, p.Y), max(b.X1, p.X), max(b.Y1, p.Y)}
		}
	}
	const apart = 7 * 1.4142
	var lines []Stroke
	h := b.Y1 - b.Y0
	for x := b.X0 - h; x < b.X1; x += apart {
		lines = append(lines, Stroke{'M', x, b.Y1}, Stroke{'L', x + h, b.Y0})
	}
	c.Path(lines, inkOf("hatchline"), &b)
}

var (
	fontSize = regexp.MustCompile(`font-size="([\d.]+)"`)
	dashes   = regexp.MustCompile(`stroke-dasharray="([\d. ]+)"`)
	opacity  = regexp.MustCompile(`(?:stroke|fill)-opacity="([\d.]+)"`)
	pathStep = regexp.MustCompile(`([MLZ])(?:(-?[\d.]+) (-?[\d.]+))?|h0`)
)

// inkOf translates the look of a class.
func inkOf(class string) Ink {
	l := looks[class]
	ink := Ink{Stroke: rgb(l.stroke), Fill: rgb(l.fill), Width: l.width, Opacity: 1,
		Round: strings.Contains(l.more, `linecap="round"`), Square: strings.Contains(l.more, `linecap="square"`)}
	if found := dashes.FindStringSubmatch(l.more); found != nil {
		for _, d := range strings.Fields(found[1]) {
			v, _ := strconv.ParseFloat(d, 64)
			ink.Dash = append(ink.Dash, v)
		}
	}
	if found := opacity.FindStringSubmatch(l.more); found != nil {
		ink.Opacity, _ = strconv.ParseFloat(found[1], 64)
	}
	return ink
}

// rgb is the colour of that name on light paper, nil for none.
func rgb(name string) *RGB {
	var c RGB
	if _, err := fmt.Sscanf(lightOf(name), "#%02x%02x%02x", &c.R, &c.G, &c.B); err != nil {
		return nil
	}
	return &c
}

// strokes reads path data that a pen wrote. A line of no length becomes one just long
// enough to be painted everywhere.
func strokes(path string) []Stroke {
	var list []Stroke
	for _, step := range pathStep.FindAllStringSubmatch(path, -1) {
		if step[0] == "h0" {
			last := list[len(list)-1]
			list = append(list, Stroke{'L', last.X + 0.01, last.Y})
			continue
		}
		x, _ := strconv.ParseFloat(step[2], 64)
		y, _ := strconv.ParseFloat(step[3], 64)
		list = append(list, Stroke{step[1][0], x, y})
	}
	return list
}
