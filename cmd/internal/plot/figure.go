package plot

import (
	"fmt"
	"math"
)

// Figure is anything that [WriteSVG] can draw.
type Figure interface {
	// Caption returns the title.
	Caption() string
	// about returns the title and the description for those who cannot see it.
	about() About
	// check refuses data that cannot be drawn.
	check() error
	// layout computes the drawing for a width in pixels.
	layout(width float64, heading bool) *scene
}

// About says in words what a figure shows. Both texts are required: they are
// what a screen reader reads out.
type About struct {
	Title string // a few words
	Desc  string // one or two sentences with the numbers that matter
}

// Caption returns the title.
func (a About) Caption() string { return a.Title }

func (a About) about() About { return a }

func (a About) check() error {
	if a.Title == "" || a.Desc == "" {
		return &DataError{"figure", "it has no title or no description"}
	}
	return nil
}

// DataError says which part of a figure cannot be drawn, and why.
type DataError struct {
	Part    string
	Problem string
}

func (e *DataError) Error() string { return fmt.Sprintf("plot: %s: %s", e.Part, e.Problem) }

// Role fixes how a curve looks, here and in every other figure of a report.
type Role uint8

// The roles. A pair of drivers uses Before for the left and After for the right.
const (
	Plain  Role = iota // ink, drawn through, round points
	Before             // dashed, square points
	After              // drawn through, round points
	Aside              // dotted and pale: a reference, a model that lost
)

var roleNames = [...]string{"plain", "before", "after", "aside"}

// Series is one curve or cloud of points. X and Y have the same length; X is in
// the order in which the points are joined.
type Series struct {
	Name string // written beside the curve; "" for none
	Role Role
	X, Y []float64
	// YErr and XErr are half-widths of error bars, nil for none.
	YErr, XErr []float64
	// Points draws a point at each value, Line joins them. Both may be set.
	Points, Line bool
}

// Band is the area between two curves over the same X: a confidence band.
type Band struct {
	Role   Role
	X      []float64
	Lo, Hi []float64
}

// Limits is a pair of limits on one axis; an absent side is minus or plus
// infinity. On the X axis the permitted range is tinted and bounded by two
// lines; on the Y axis the forbidden ranges are hatched.
type Limits struct {
	Name   string // "Fs limits 27.9 to 34.1 Hz"; "" for none
	Lo, Hi float64
}

// Marker is a point with a name: a resonance, an intercept.
type Marker struct {
	Name string
	Role Role
	X, Y float64
	// Drop draws a line from the point down to the X axis.
	Drop bool
}

// Rule is a straight line across the panel at one value of Y.
type Rule struct {
	Name string
	Role Role
	Y    float64
}

// Panel is one drawing area of a chart.
type Panel struct {
	Y       Axis
	Height  float64 // of the drawing area in pixels; 0: 220
	Series  []Series
	Bands   []Band
	XLimits []Limits
	YLimits []Limits
	Markers []Marker
	Rules   []Rule
}

// Chart is a column of panels over one X axis.
type Chart struct {
	About
	X      Axis
	Panels []Panel
}

func (c Chart) check() error {
	if err := c.About.check(); err != nil {
		return err
	}
	if len(c.Panels) == 0 {
		return &DataError{"chart", "it has no panel"}
	}
	if err := c.X.check("X axis"); err != nil {
		return err
	}
	for i, p := range c.Panels {
		if err := p.Y.check(fmt.Sprintf("Y axis of panel %d", i+1)); err != nil {
			return err
		}
		if err := p.check(c.X.Log); err != nil {
			return err
		}
	}
	return nil
}

func (p Panel) check(logX bool) error {
	for i, s := range p.Series {
		part := fmt.Sprintf("series %d %q", i+1, s.Name)
		if err := columns(part, len(s.X), s.X, s.Y); err != nil {
			return err
		}
		for _, bars := range [][]float64{s.YErr, s.XErr} {
			if bars == nil {
				continue
			}
			if err := columns(part+", error bars", len(s.X), bars); err != nil {
				return err
			}
		}
		if err := positive(part, logX, s.X...); err != nil {
			return err
		}
		if err := positive(part, p.Y.Log, s.Y...); err != nil {
			return err
		}
	}
	for i, b := range p.Bands {
		part := fmt.Sprintf("band %d", i+1)
		if err := columns(part, len(b.X), b.X, b.Lo, b.Hi); err != nil {
			return err
		}
		if err := positive(part, logX, b.X...); err != nil {
			return err
		}
	}
	for _, m := range p.Markers {
		if err := columns("marker "+m.Name, 2, []float64{m.X, m.Y}); err != nil {
			return err
		}
		if err := positive("marker "+m.Name, logX, m.X); err != nil {
			return err
		}
	}
	for _, r := range p.Rules {
		if err := columns("rule "+r.Name, 1, []float64{r.Y}); err != nil {
			return err
		}
	}
	for _, l := range append(append([]Limits{}, p.XLimits...), p.YLimits...) {
		if math.IsNaN(l.Lo) || math.IsNaN(l.Hi) || l.Lo > l.Hi {
			return &DataError{"limits " + l.Name, fmt.Sprintf("%v to %v is not a range", l.Lo, l.Hi)}
		}
	}
	return nil
}

// columns refuses columns of another length than n and values that are not
// finite.
func columns(part string, n int, cols ...[]float64) error {
	for _, c := range cols {
		if len(c) != n {
			return &DataError{part, fmt.Sprintf("it has %d values where %d are needed", len(c), n)}
		}
		for k, v := range c {
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return &DataError{part, fmt.Sprintf("value %d is %v", k+1, v)}
			}
		}
	}
	return nil
}

func positive(part string, wanted bool, values ...float64) error {
	if !wanted {
		return nil
	}
	for k, v := range values {
		if !(v > 0) {
			return &DataError{part, fmt.Sprintf("value %d is %v, but its axis is logarithmic", k+1, v)}
		}
	}
	return nil
}
