package playground

import (
	"bytes"
	"fmt"
	"math"
	"slices"

	"conewright/cmd/internal/plot"
	"conewright/ts/ring"
)

// View is a State made ready to be shown: words and drawings.
type View struct {
	Words string `json:"words"` // what the sliders did, in one sentence
	Rows  []Row  `json:"rows"`
	Curve string `json:"curve"` // SVG
	Line  string `json:"line"`  // SVG
}

// Row is one quantity, with the sliders at rest and as they stand.
type Row struct {
	ID   string `json:"id"`
	Name string `json:"name"`
	Rest string `json:"rest"`
	Now  string `json:"now"`
}

// View computes and draws one position of the sliders, at a width in pixels.
func (b Base) View(s Sliders, width float64) (View, error) {
	rest, err := b.At(Sliders{})
	if err != nil {
		return View{}, err
	}
	now, err := b.At(s)
	if err != nil {
		return View{}, err
	}
	v := View{Words: words(s, rest, now), Rows: rows(s, rest, now)}
	if v.Curve, err = draw(b.curve(rest, now), "curve", width); err != nil {
		return View{}, err
	}
	v.Line, err = draw(b.line(s, now), "line", width)
	return v, err
}

func draw(f plot.Figure, id string, width float64) (string, error) {
	var buf bytes.Buffer
	err := plot.WriteSVG(&buf, f, plot.Options{ID: "play-" + id, Width: width})
	return buf.String(), err
}

func rows(s Sliders, rest, now State) []Row {
	grams := func(kg float64) string { return fmt.Sprintf("%.1f g", 1e3*kg) }
	q := func(v float64) string { return fmt.Sprintf("%.3f", v) }
	return []Row{
		{"fs", "resonance Fs", Hertz(rest.Fs), Hertz(now.Fs)},
		{"mms", "moving mass Mms", grams(rest.Driver.Mms), grams(now.Driver.Mms + s.Ring)},
		{"cms", "compliance Cms", fmt.Sprintf("%.3f mm/N", 1e3*rest.Driver.Cms), fmt.Sprintf("%.3f mm/N", 1e3*now.Driver.Cms)},
		{"bl", "force factor BL", fmt.Sprintf("%.2f T m", rest.Driver.BL), fmt.Sprintf("%.2f T m", now.Driver.BL)},
		{"qms", "mechanical Q, Qms", q(rest.Qms), q(now.Qms)},
		{"qes", "electrical Q, Qes", q(rest.Qes), q(now.Qes)},
		{"qts", "total Q, Qts", q(rest.Qts), q(now.Qts)},
		{"zmax", "impedance at Fs", fmt.Sprintf("%.1f Ω", rest.Zmax), fmt.Sprintf("%.1f Ω", now.Zmax)},
		{"level", "level above resonance", "0.0 dB", decibels(now.Level)},
	}
}

// Hertz writes a resonance the way the page shows it.
func Hertz(f float64) string { return fmt.Sprintf("%.2f Hz", f) }

// decibels writes a change of level with its sign, and no sign where it rounds
// to nothing.
func decibels(db float64) string {
	if math.Abs(db) < 0.05 {
		return "0.0 dB"
	}
	return fmt.Sprintf("%+.1f dB", db)
}

func words(s Sliders, rest, now State) string {
	move := fmt.Sprintf("the resonance stays at %s", Hertz(now.Fs))
	if Hertz(now.Fs) != Hertz(rest.Fs) {
		verb := "falls"
		if now.Fs > rest.Fs {
			verb = "rises"
		}
		move = fmt.Sprintf("the resonance %s from %s to %s", verb, Hertz(rest.Fs), Hertz(now.Fs))
	}
	if s.Ring == 0 && s.Compliance == 0 && s.Motor == 0 && s.Losses == 0 {
		return "Nothing is changed yet: " + move + "."
	}
	if s.Ring > 0 && s.Compliance == 0 && s.Motor == 0 && s.Losses == 0 {
		return fmt.Sprintf("With a ring of %.1f g %s.", 1e3*s.Ring, move)
	}
	return "With these settings " + move + "."
}

func (b Base) curve(rest, now State) plot.Chart {
	return plot.Chart{
		About: plot.About{Title: "Impedance over frequency",
			Desc: fmt.Sprintf("The driver as it was peaks at %s, with the sliders as they stand at %s.", Hertz(rest.Fs), Hertz(now.Fs))},
		X: plot.Axis{Label: "frequency, Hz", Log: true},
		Panels: []plot.Panel{{
			Y: plot.Axis{Label: "impedance, Ω", Zero: true},
			Series: []plot.Series{
				{Name: "as it was", Role: plot.Before, X: rest.Freq, Y: rest.Magnitude, Line: true},
				{Name: "now", Role: plot.After, X: now.Freq, Y: now.Magnitude, Line: true},
			},
			Markers: []plot.Marker{{Name: "Fs " + Hertz(now.Fs), Role: plot.After, X: now.Fs, Y: now.Zmax, Drop: true}},
		}, {
			Y:      plot.Axis{Label: "phase, degrees", Lo: -90, Hi: 90, Angle: true},
			Height: 120,
			Series: []plot.Series{
				{Role: plot.Before, X: rest.Freq, Y: rest.Phase, Line: true},
				{Role: plot.After, X: now.Freq, Y: now.Phase, Line: true},
			},
		}},
	}
}

// line draws the mass line of the driver as it stands, the points of the class
// experiment, and where the ring is on the line.
func (b Base) line(s Sliders, now State) plot.Chart {
	var x, y, mx, my []float64
	for _, p := range now.Line {
		x = append(x, 1e3*p.X)
		y = append(y, 1e6*p.Y)
	}
	for i, m := range b.Masses {
		mx = append(mx, 1e3*m)
		my = append(my, 1e6*ring.InverseSquareOmega(b.Resonances[i]))
	}
	return plot.Chart{
		About: plot.About{Title: "Mass line",
			Desc: fmt.Sprintf("One over the square of the angular resonance ω = 2π Fs against the mass on the cone. The ring of %.1f g gives %s.", 1e3*s.Ring, Hertz(now.Fs))},
		X: plot.Axis{Label: "mass on the cone, g", Zero: true},
		Panels: []plot.Panel{{
			Y: plot.Axis{Label: "1/ω², (ms)²", Zero: true},
			Series: []plot.Series{
				{Name: "measured", Role: plot.Before, X: mx, Y: my, Points: true},
				{Name: "this driver", Role: plot.After, X: x, Y: y, Line: true},
			},
			Markers: []plot.Marker{{Name: "ring", Role: plot.After, X: 1e3 * s.Ring, Y: 1e6 * ring.InverseSquareOmega(now.Fs), Drop: true}},
		}},
	}
}

// heaviest is where the mass line ends, in kg.
func (b Base) heaviest() float64 {
	return slices.Max(append([]float64{b.MaxRing()}, b.Masses...))
}

// MaxRing is the end of the ring slider in kg: as much as the cone weighs,
// rounded to a whole gram.
func (b Base) MaxRing() float64 { return math.Max(1, math.Round(1e3*b.Mms)) / 1e3 }
