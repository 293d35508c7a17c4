package report

import (
	"fmt"
	"math"
	"strings"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/quantity"
	"conewright/ts/process"
)

// mostControlled is how many quantities the charts of groups show, so that they stand on one page; the
// JSON has all.
const mostControlled = 4

// groupFigure shows the control charts of groups: their means above their ranges.
func groupFigure(r *Report) (plot.Figure, bool) {
	if r.Lot == nil {
		return nil, false
	}
	c := plot.Chart{About: plot.About{Title: "Means and ranges of the groups"}, X: plot.Axis{Label: GroupColumn, Whole: true, Lo: 0.5, Hi: float64(len(r.Lot.groupNames)) + 0.5}}
	var said []string
	for _, of := range r.process {
		x := of.control
		if x == nil || x.size == 0 || len(c.Panels) == 2*mostControlled {
			continue
		}
		factor := quantity.Screen(of.id).Factor
		c.Panels = append(c.Panels, controlPanel("mean of "+symbolWithUnit(of.id), x.Location, x.signals, x.at, factor, meanHeight), controlPanel("", x.Scatter, x.wide, x.at, factor, rangeHeight))
		said = append(said, fmt.Sprintf("%s: %d groups of %d, %d signals", of.id, len(x.at), x.size, len(x.signals)+len(x.wide)))
	}
	c.Desc = strings.Join(said, "; ") + "."
	return c, len(c.Panels) > 0
}

// Heights of a chart of means and of one of ranges, in pixels.
const meanHeight, rangeHeight = 50, 30

// controlPanel draws one chart; at has the place of each point on the axis, from 0, factor is the unit of
// the screen.
func controlPanel(label string, x process.Chart, signals []process.Signal, at []int, factor, height float64) plot.Panel {
	path := plot.Series{Role: plot.Plain, Line: true, Points: len(x.Points) <= mostLotBars}
	lo, hi := x.Lo, x.Hi
	for i, y := range x.Points {
		path.X, path.Y = append(path.X, float64(at[i]+1)), append(path.Y, y/factor)
		lo, hi = min(lo, y), max(hi, y)
	}
	air := 0.08 * (hi - lo)
	if x.Std == 0 { // no range is below 0
		lo = air
	}
	p := plot.Panel{Y: plot.Axis{Label: label, Lo: (lo - air) / factor, Hi: (hi + air) / factor}, Height: height, Series: []plot.Series{path}, Rules: controlRules(x, factor)}
	p.Markers = signalMarkers(x.Points, signals, at, factor)
	return p
}

// controlRules are the middle and the limits of a chart. A range of 0 is its limit where there is
// no other.
func controlRules(x process.Chart, factor float64) []plot.Rule {
	rules := []plot.Rule{{Y: x.Centre / factor}, {Role: plot.Aside, Y: x.Hi / factor}}
	if x.Std > 0 || x.Lo > 0 {
		rules = append(rules, plot.Rule{Role: plot.Aside, Y: x.Lo / factor})
	}
	return rules
}

// signalMarkers are the points of signals, each once.
func signalMarkers(points []float64, signals []process.Signal, at []int, factor float64) []plot.Marker {
	var list []plot.Marker
	last := math.MinInt
	for _, s := range signals { // in the order of the points
		if s.Point != last {
			list = append(list, plot.Marker{Role: plot.After, X: float64(at[s.Point] + 1), Y: points[s.Point] / factor})
		}
		last = s.Point
	}
	return list
}
