// Package handout writes the two worksheets of the class experiment with mass
// rings: one for students, with blanks to fill and questions, and one for the
// teacher, with the answers computed from the data of that very class. Both are
// one HTML file each, print on A4 and Letter, and end with the sliders of
// package playground.
package handout

import (
	"bytes"
	_ "embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"math/cmplx"
	"slices"

	"conewright/cmd/internal/page"
	"conewright/cmd/internal/playground"
	sliders "conewright/cmd/internal/playground/page"
	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/wording"
	"conewright/ts/driver"
	"conewright/ts/fitted"
	"conewright/ts/param"
	"conewright/ts/ring"

	"gonum.org/v1/gonum/interp"
)

// Audience says for whom a sheet is.
type Audience uint8

// The audiences.
const (
	Student Audience = iota + 1
	Teacher
)

// String returns the word used on the command line.
func (a Audience) String() string { return [...]string{"", "student", "teacher"}[a] }

//go:embed handout.html
var source string

//go:embed handout.css
var style string

var body = template.Must(template.New("handout").Parse(source))

// Write writes the sheet for one audience as a whole or not at all. Truth is the
// driver behind a virtual experiment, nil for a real one.
func Write(w io.Writer, a Audience, m *ring.MassLine, truth *driver.Driver) error {
	s, err := newSheet(a, m, truth)
	if err != nil {
		return err
	}
	var b bytes.Buffer
	if err := body.Execute(&b, s); err != nil {
		return fmt.Errorf("rendering the handout: %w", err)
	}
	kind := "Worksheet"
	if a == Teacher {
		kind = "Worksheet, with answers for the teacher"
	}
	p := page.Page{Kind: kind, Title: "How heavy is the cone?", Style: template.CSS(style), Body: template.HTML(b.String()), Scripts: true}
	return p.Write(w)
}

// sheet is what the template shows.
type sheet struct {
	Teacher   bool
	Virtual   bool
	Rows      []row
	Curves    template.HTML
	Graph     template.HTML
	Questions []Question
	Results   []result
	Notes     []wording.Said
	Play      template.HTML
}

// row is one line of the table that students fill in.
type row struct {
	Mass, Fs, Inverse string
}

// result is a line of the teacher's table: line, joint fit and truth.
type result struct {
	Name, Line, Joint, Truth string
}

func newSheet(a Audience, m *ring.MassLine, truth *driver.Driver) (*sheet, error) {
	s := &sheet{Teacher: a == Teacher, Virtual: truth != nil, Questions: Questions(m)}
	said := wording.Notices(m.Warnings)
	if s.Virtual {
		said = wording.WithoutBench(said)
	}
	for _, w := range said {
		if !slices.Contains(s.Notes, w) { // what every sweep notices is said once
			s.Notes = append(s.Notes, w)
		}
	}
	for i, p := range m.Points {
		s.Rows = append(s.Rows, row{fmt.Sprintf("%.1f g", 1e3*p.Mass.Value), report.Quantity(param.Fs, p.Fs),
			fmt.Sprintf("%.2f (ms)²", 1e6*m.Line.Points[i].Y)})
	}
	graph := emptyGraph(m)
	if s.Teacher {
		graph = report.MassLineFigure(*m)
		s.results(m, truth)
	}
	var err error
	if s.Curves, err = page.Figure(curves(m), "curves", ""); err != nil {
		return nil, err
	}
	if s.Graph, err = page.Figure(graph, "graph", ""); err != nil {
		return nil, err
	}
	base, err := baseOf(m)
	if err != nil {
		return nil, err
	}
	s.Play, err = sliders.Fragment(base)
	return s, err
}

func (s *sheet) results(m *ring.MassLine, truth *driver.Driver) {
	for _, r := range report.LineResults(m, truth) {
		out := result{Name: wording.Name(r.ID) + " " + r.ID.String(), Line: report.Quantity(r.ID, r.Line)}
		if e := r.Joint; e != nil {
			out.Joint = report.Quantity(r.ID, ring.Spread{Value: e.Value, Std: e.Std})
		}
		if truth != nil {
			out.Truth = report.Quantity(r.ID, ring.Spread{Value: r.True, Std: r.Line.Std})
		}
		s.Results = append(s.Results, out)
	}
}

// curves shows the impedance for every mass around the resonances, on a linear
// axis from which a resonance can be read.
func curves(m *ring.MassLine) plot.Chart {
	first, last := m.Points[0].Fs.Value, m.Points[len(m.Points)-1].Fs.Value
	lo, hi := 5*math.Floor(0.75*last/5), 5*math.Ceil(1.25*first/5)
	c := plot.Chart{
		About: plot.About{Title: "Impedance with each mass", Desc: fmt.Sprintf("One curve for each of %d masses; each peaks at the resonance.", len(m.Points))},
		X:     plot.Axis{Label: "frequency, Hz", Lo: lo, Hi: hi},
		Panels: []plot.Panel{{
			Y: plot.Axis{Label: "impedance, Ω", Zero: true}, Height: 300,
		}},
	}
	p := &c.Panels[0]
	for i, curve := range m.Joint.Curves {
		s := plot.Series{Role: plot.After, Line: true, Name: fmt.Sprintf("%.1f g", 1e3*m.Points[i].Mass.Value)}
		if i%2 == 1 {
			s.Role = plot.Before
		}
		if s.X, s.Y = smooth(curve, lo, hi); len(s.X) > 0 {
			p.Series = append(p.Series, s)
		}
	}
	return c
}

// smooth returns the fitted |Z| of a sweep from lo to hi (Hz) in steps fine
// enough for a smooth drawing, by a spline through the fitted points.
func smooth(c fitted.Curve, lo, hi float64) (f, magnitude []float64) {
	var fitted []float64
	for _, z := range c.Fitted {
		fitted = append(fitted, cmplx.Abs(z))
	}
	var spline interp.AkimaSpline
	if err := spline.Fit(c.Freq, fitted); err != nil {
		return nil, nil
	}
	const steps = 240
	for i := range steps + 1 {
		x := lo + (hi-lo)*float64(i)/steps
		if x >= c.Freq[0] && x <= c.Freq[len(c.Freq)-1] {
			f = append(f, x)
			magnitude = append(magnitude, spline.Predict(x))
		}
	}
	return f, magnitude
}

// emptyGraph is ruled paper for the students' own points and line; it reaches
// far enough to the left for the line to meet zero.
func emptyGraph(m *ring.MassLine) plot.Chart {
	l := m.Line
	lo, hi := -1.15e3*m.Mms.Value, 1.1e3*l.Points[len(l.Points)-1].X
	top, _ := l.At(hi / 1e3)
	return plot.Chart{
		About: plot.About{Title: "Your mass line", Desc: "Empty graph paper for the students' points: one over the square of the angular resonance against the added mass."},
		X:     plot.Axis{Label: "added mass, g", Lo: lo, Hi: hi},
		Panels: []plot.Panel{{
			Y: plot.Axis{Label: "1/ω², (ms)²", Lo: 0, Hi: 1.1e6 * top}, Height: 330,
		}},
	}
}

// baseOf is the driver of the joint fit as the start of the sliders. The coil is
// drawn with the lossy model that has its impedance at 1 kHz.
func baseOf(m *ring.MassLine) (playground.Base, error) {
	get := func(id param.ID) float64 {
		e, _ := m.Joint.Parameters.Get(id)
		return e.Value
	}
	b := playground.Base{Name: "the driver of the class", Re: get(param.Re), BL: get(param.BL), Mms: get(param.Mms), Cms: get(param.Cms), Rms: get(param.Rms),
		Creep: max(0, get(param.Creep))}
	if l := get(param.L1k); l > 0 {
		w := 2 * math.Pi * 1000
		r := max(0, get(param.R1k))
		b.CoilN = 2 / math.Pi * math.Atan2(w*l, r)
		b.CoilK = math.Hypot(w*l, r) / math.Pow(w, b.CoilN)
	}
	for _, p := range m.Points {
		b.Masses = append(b.Masses, p.Mass.Value)
		b.Resonances = append(b.Resonances, p.Fs.Value)
	}
	return b, b.Check()
}
