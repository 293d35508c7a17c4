package customer

import (
	"fmt"
	"io"
	"strings"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/report"

	"codeberg.org/go-fonts/liberation/liberationsansbold"
	"codeberg.org/go-fonts/liberation/liberationsansregular"
	"codeberg.org/go-pdf/fpdf"
)

// Lengths are millimetres, sizes of letters points.
const (
	margin   = 12.0
	font     = "liberation"
	inch     = 25.4
	perPoint = inch / 72
)

// figureWidths are the widths in pixels at which figures are laid out: the more pixels, the lower they
// are on the page. The first at which every driver has room on its page is taken.
var figureWidths = []float64{700, 800, 900, 1000}

// Papers are the sizes of paper that there are.
var Papers = []string{"A4", "Letter"}

var (
	ink   = plot.RGB{R: 0x1f, G: 0x2a, B: 0x30}
	quiet = plot.RGB{R: 0x5b, G: 0x65, B: 0x6b}
	rule  = plot.RGB{R: 0xc9, G: 0xc6, B: 0xbc}
	marks = map[report.Mark]plot.RGB{report.NoMark: ink, report.Good: {R: 0x2f, G: 0x5f, B: 0x36}, report.Bad: {R: 0x9c, G: 0x2f, B: 0x10}, report.Open: {R: 0x6a, G: 0x52, B: 0x00}}
)

// WritePDF writes the sheet as a PDF file with its fonts embedded, one page a driver where that has
// room. The same sheet gives the same bytes.
func WritePDF(w io.Writer, s *Sheet, paper string) error {
	var f *fpdf.Fpdf
	for _, width := range figureWidths {
		f = layOut(s, paper, width)
		if f.PageCount() == len(s.Parts) {
			break
		}
	}
	if err := f.Error(); err != nil {
		return fmt.Errorf("writing the PDF: %w", err)
	}
	return f.Output(w)
}

// layOut writes the pages with figures of that width in pixels.
func layOut(s *Sheet, paper string, figureWidth float64) *fpdf.Fpdf {
	f := fpdf.New("P", "mm", paper, "")
	f.SetCatalogSort(true)
	f.SetCreationDate(s.Made)
	f.SetModificationDate(s.Made)
	var titles []string
	for _, part := range s.Parts {
		titles = append(titles, part.Title)
	}
	f.SetTitle(strings.Join(titles, "; ")+": "+s.Title, true)
	f.SetAuthor(s.Workshop.Name, true)
	f.SetLang("en")
	f.SetMargins(margin, margin, margin)
	f.SetAutoPageBreak(false, margin)
	f.AddUTF8FontFromBytes(font, "", liberationsansregular.TTF)
	f.AddUTF8FontFromBytes(font, "B", liberationsansbold.TTF)
	width, height := f.GetPageSize()
	p := &printer{Fpdf: f, width: width - 2*margin, bottom: height - margin, figureWidth: figureWidth}
	for i, part := range s.Parts {
		f.AddPage()
		p.y = margin
		p.part(s, part)
		if i == len(s.Parts)-1 {
			p.smallPrint(s.Print)
		}
	}
	return f
}

// printer writes downwards from y.
type printer struct {
	*fpdf.Fpdf
	width, bottom, y float64
	figureWidth      float64 // pixels
}

// room begins a page where this one has no more room for something of that height.
func (p *printer) room(height float64) {
	if p.y+height > p.bottom {
		p.AddPage()
		p.y = margin
	}
}

// set chooses letters.
func (p *printer) set(bold bool, size float64, c plot.RGB) {
	weight := ""
	if bold {
		weight = "B"
	}
	p.SetFont(font, weight, size)
	p.SetTextColor(int(c.R), int(c.G), int(c.B))
}

// say writes a text from x on within a width, in as many lines as it takes.
func (p *printer) say(x, width, size float64, bold bool, c plot.RGB, text string) {
	p.set(bold, size, c)
	step := size * perPoint * 1.3
	for _, line := range p.SplitText(text, width) {
		p.room(step)
		p.Text(x, p.y+size*perPoint, line)
		p.y += step
	}
}

// line draws a rule across the page.
func (p *printer) line() {
	p.SetDrawColor(int(rule.R), int(rule.G), int(rule.B))
	p.SetLineWidth(0.2)
	p.SetDashPattern(nil, 0)
	p.Line(margin, p.y, margin+p.width, p.y)
}

// part writes one driver from the top of its page.
func (p *printer) part(s *Sheet, part Part) {
	p.say(margin, p.width/2, 12, true, ink, s.Workshop.Name)
	end := p.y
	p.y = margin
	for _, line := range s.Workshop.Address {
		p.set(false, 8, quiet)
		p.Text(margin+p.width-p.GetStringWidth(line), p.y+8*perPoint, line)
		p.y += 8 * perPoint * 1.3
	}
	p.y = max(p.y, end) + 1.5
	p.line()
	p.y += 3
	p.say(margin, p.width, 16, true, ink, part.Title)
	p.say(margin, p.width, 10, false, quiet, s.Title)
	p.y += 2
	p.facts(s.Facts, part.Facts)
	p.y += 2
	p.verdict(part)
	if s.Work != "" {
		p.y += 3
		p.say(margin, p.width, 10, true, ink, "What was done")
		p.say(margin, p.width, 9.5, false, ink, s.Work)
	}
	p.figure(part.Picture)
	if len(part.Values.Rows) > 0 {
		p.y += 2
		p.table(part.Values)
	}
	if c := part.Cabinet; c != nil {
		p.figure(c.Picture)
		p.say(margin, p.width, 9.5, false, ink, report.Neat(c.Says))
	}
	for _, o := range part.Others {
		p.y += 3
		p.room(12) // its title is not left alone
		p.say(margin, p.width, 10, true, ink, o.Title)
		for _, text := range o.Says {
			p.say(margin, p.width, 9.5, false, ink, report.Neat(text))
		}
		if len(o.Table.Rows) > 0 {
			p.table(o.Table)
		}
	}
}

// facts writes two columns of labels with their texts.
func (p *printer) facts(left, right []Line) {
	top, end := p.y, p.y
	const label = 20.0
	x, width := margin, 0.43*p.width
	for _, column := range [][]Line{left, right} {
		p.y = top
		for _, f := range column {
			y := p.y
			p.say(x, label, 9, false, quiet, f.Label)
			p.y = y
			p.say(x+label, width-label-2, 9, false, ink, f.Text)
		}
		end = max(end, p.y)
		x, width = x+width, p.width-width
	}
	p.y = end
}

// verdict writes the answer into a box; the frame alone tells the answers apart, and so
// does the sign.
func (p *printer) verdict(part Part) {
	c := marks[part.Mark]
	p.set(true, 11.5, ink)
	const pad, forSign = 2.5, 9.0
	x := margin + pad
	if part.Mark != report.NoMark {
		x += forSign
	}
	text := report.Neat(part.Verdict)
	lines := p.SplitText(text, margin+p.width-x-pad)
	height := 2*pad + float64(len(lines))*11.5*perPoint*1.3
	top := p.y
	p.SetDrawColor(int(c.R), int(c.G), int(c.B))
	p.SetLineWidth(0.6)
	p.SetDashPattern(nil, 0)
	switch part.Mark {
	case report.Open:
		p.SetDashPattern([]float64{2, 1.2}, 0)
	case report.Bad:
		p.Rect(margin+1.1, top+1.1, p.width-2.2, height-2.2, "D")
	}
	p.Rect(margin, top, p.width, height, "D")
	p.SetDashPattern(nil, 0)
	p.paintSign(part.Mark, margin+pad+2.5, top+height/2, c)
	p.y = top + pad
	p.say(x, margin+p.width-x-pad, 11.5, true, ink, text)
	p.y = top + height
}

// paintSign draws the sign of a verdict around a point: the font has none.
func (p *printer) paintSign(m report.Mark, x, y float64, c plot.RGB) {
	p.SetDrawColor(int(c.R), int(c.G), int(c.B))
	p.SetLineWidth(0.9)
	p.SetLineCapStyle("round")
	switch m {
	case report.Good:
		p.MoveTo(x-2, y)
		p.LineTo(x-0.5, y+1.8)
		p.LineTo(x+2.4, y-2)
		p.DrawPath("D")
	case report.Bad:
		p.Line(x-1.8, y-1.8, x+1.8, y+1.8)
		p.Line(x-1.8, y+1.8, x+1.8, y-1.8)
	case report.Open:
		p.set(true, 15, c)
		p.Text(x-p.GetStringWidth("?")/2, y+15*perPoint*0.36, "?")
	}
	p.SetLineCapStyle("butt")
}

// figure draws a figure over the whole width, its title above.
func (p *printer) figure(f plot.Figure) {
	if f == nil {
		return
	}
	const head = 9.0 // at most
	scale := p.width / p.figureWidth
	height, err := plot.Paint(nowhere{}, f, p.figureWidth)
	if err != nil {
		p.SetError(err)
		return
	}
	p.room(head + height*scale)
	p.y += 3
	p.say(margin, p.width, 10, true, ink, report.Neat(f.Caption()))
	p.y += 0.5
	c := &canvas{p, margin, p.y, scale}
	height, err = plot.Paint(c, f, p.figureWidth)
	if err != nil {
		p.SetError(err)
		return
	}
	p.y += height * c.scale
}

// table writes a table; numbers stand with their points below one another.
func (p *printer) table(t report.Table) {
	const size, step, gap = 9.0, 4.8, 4.0
	p.set(false, size, ink)
	heads, whole, rest := make([]string, len(t.Columns)), make([]float64, len(t.Columns)), make([]float64, len(t.Columns))
	for i, c := range t.Columns {
		heads[i] = c.Head
		for _, r := range t.Rows {
			a, b := p.cell(r.Cells[i], c.Align)
			whole[i], rest[i] = max(whole[i], a), max(rest[i], b)
		}
		if wide := p.GetStringWidth(c.Head); wide > whole[i]+rest[i] {
			whole[i] = wide - rest[i]
		}
	}
	p.room(step * float64(len(t.Rows)+1))
	row := func(cells []string, c plot.RGB, bold, head bool) {
		x := margin
		for i, text := range cells {
			align := t.Columns[i].Align
			before, _ := p.cell(text, align)
			at := x
			switch {
			case head && align != report.Left:
				at += whole[i] + rest[i] - p.GetStringWidth(text)
			case align != report.Left:
				at += whole[i] - before
			}
			p.set(bold && i == len(cells)-1, size, c)
			p.Text(at, p.y+size*perPoint, report.Neat(text))
			p.set(false, size, c)
			x += whole[i] + rest[i] + gap
			if align == report.Point && i+1 < len(cells) && t.Columns[i+1].Head == "" && t.Columns[i+1].Align == report.Left {
				x -= gap - 1.2 // its unit
			}
		}
		p.y += step
	}
	row(heads, quiet, false, true)
	p.line()
	p.y += 0.8
	for _, r := range t.Rows {
		c := ink
		if r.Mark == report.Bad {
			c = marks[r.Mark]
		}
		row(r.Cells, c, r.Mark != report.Good, false)
	}
}

// cell returns how much of a cell stands before its alignment, and how much after.
func (p *printer) cell(text string, align report.Align) (before, after float64) {
	wide := p.GetStringWidth(report.Neat(text))
	if at := strings.IndexByte(text, '.'); align == report.Point && at >= 0 {
		before = p.GetStringWidth(report.Neat(text[:at]))
		return before, wide - before
	}
	return wide, 0
}

// smallPrint stands at the bottom of the last page, or on one more if that is full.
func (p *printer) smallPrint(lines []Line) {
	const size = 6.0
	const step = size * perPoint * 1.3
	p.set(false, size, quiet)
	height, pages := 2.0, p.PageNo()
	for _, l := range lines {
		height += step * float64(len(p.SplitText(l.Text, p.width-26)))
	}
	p.room(height)
	if p.PageNo() == pages {
		p.y = max(p.y, p.bottom-height)
	}
	p.line()
	p.y += 1
	for _, l := range lines {
		y := p.y
		p.say(margin, 26, size, false, quiet, l.Label)
		p.y = y
		p.say(margin+26, p.width-26, size, false, quiet, l.Text)
	}
}

// nowhere takes a figure to measure it.
type nowhere struct{}

// Path implements [plot.Canvas].
func (nowhere) Path([]plot.Stroke, plot.Ink, *plot.Frame) {}

// Text implements [plot.Canvas].
func (nowhere) Text(x, y float64, align, text string, size float64, bold bool, colour plot.RGB) {}

// canvas paints figures onto a page.
type canvas struct {
	p     *printer
	x, y  float64 // mm, of the upper left corner
	scale float64 // mm per pixel
}

// Path implements [plot.Canvas].
func (c *canvas) Path(path []plot.Stroke, ink plot.Ink, clip *plot.Frame) {
	p := c.p
	how := ""
	if ink.Fill != nil {
		p.SetFillColor(int(ink.Fill.R), int(ink.Fill.G), int(ink.Fill.B))
		how += "F"
	}
	if ink.Stroke != nil {
		p.SetDrawColor(int(ink.Stroke.R), int(ink.Stroke.G), int(ink.Stroke.B))
		p.SetLineWidth(ink.Width * c.scale)
		how += "D"
	}
	if how == "" || len(path) == 0 {
		return
	}
	var dash []float64
	for _, d := range ink.Dash {
		dash = append(dash, d*c.scale)
	}
	p.SetDashPattern(dash, 0)
	switch {
	case ink.Round:
		p.SetLineCapStyle("round")
	case ink.Square:
		p.SetLineCapStyle("square")
	default:
		p.SetLineCapStyle("butt")
	}
	p.SetLineJoinStyle("round")
	p.SetAlpha(ink.Opacity, "Normal")
	// What is set within a clip is forgotten at its end, and the library would not know.
	if clip != nil {
		p.ClipRect(c.x+clip.X0*c.scale, c.y+clip.Y0*c.scale, (clip.X1-clip.X0)*c.scale, (clip.Y1-clip.Y0)*c.scale, false)
	}
	for _, s := range path {
		x, y := c.x+s.X*c.scale, c.y+s.Y*c.scale
		switch s.Op {
		case 'M':
			p.MoveTo(x, y)
		case 'L':
			p.LineTo(x, y)
		case 'Z':
			p.ClosePath()
		}
	}
	p.DrawPath(how)
	if clip != nil {
		p.ClipEnd()
	}
	p.SetAlpha(1, "Normal")
}

// Text implements [plot.Canvas].
func (c *canvas) Text(x, y float64, align, text string, size float64, bold bool, colour plot.RGB) {
	c.p.set(bold, size*c.scale/perPoint, colour)
	text = strings.ReplaceAll(text, "\u2007", " ")
	at := c.x + x*c.scale
	switch align {
	case "middle":
		at -= c.p.GetStringWidth(text) / 2
	case "end":
		at -= c.p.GetStringWidth(text)
	}
	c.p.Text(at, c.y+y*c.scale, text)
}
