package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/wording"
	"conewright/ts/lot"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Of a lot at most so many quantities are drawn, and in each at most so many
// units are named.
const (
	mostLotPanels = 8
	mostLotNames  = 3
	// Up to so many units each has its error bar; of more, one stands for all.
	mostLotBars = 60
)

// lotFigure shows the quantities of a lot over its units in the order of
// measurement: those that the sheet limits, or the usual three without a sheet.
func lotFigure(r *Report) (plot.Figure, bool) {
	if r.Lot == nil || r.Lot.Units < 2 {
		return nil, false
	}
	c := plot.Chart{
		About: plot.About{Title: "Values in the order of measurement"},
		X:     plot.Axis{Label: "unit", Whole: true, Lo: 0.5, Hi: float64(r.Lot.Units) + 0.5},
	}
	height := 100.0
	if r.Lot.Units > denseFrom { // so that lot and charts stand on one page
		height = 54
	}
	if r.Lot.Units > mostLotBars {
		c.X.Hi += 0.05 * float64(r.Lot.Units) // room for the one error bar
	}
	charts := map[param.ID]*control{} // of single units
	for _, of := range r.process {
		if of.control != nil && of.control.size == 0 {
			charts[of.id] = of.control
		}
	}
	said := []string{fmt.Sprintf("%d units", r.Lot.Units)}
	summary := r.Lot.summary()
	apart := r.Lot.outliers(summary)
	drawn := 0
	for _, t := range summary {
		limit, wanted := verdict.Limit{Lo: math.Inf(-1), Hi: math.Inf(1)}, t.ID == param.Re || t.ID == param.Fs || t.ID == param.Qts
		if r.Spec != nil {
			limit, wanted = r.Spec.Limit(t.ID)
		}
		if !wanted || drawn == mostLotPanels {
			continue
		}
		drawn++
		p, words := lotPanel(r.Lot, t, limit, apartIn(apart, t.ID))
		p.Height = height
		if x := charts[t.ID]; x != nil {
			factor := quantity.Screen(t.ID).Factor
			p.Rules = controlRules(x.Location, factor)
			p.Markers = append(signalMarkers(x.Location.Points, x.signals, x.at, factor), p.Markers...)
			c.Panels = append(c.Panels, p, controlPanel("", x.Scatter, x.wide, x.at[1:], factor, rangeHeight))
			words += fmt.Sprintf(", control limits %s, %d signals", limits(verdict.Limit{ID: t.ID, Lo: x.Location.Lo, Hi: x.Location.Hi}), len(x.signals)+len(x.wide))
		} else {
			c.Panels = append(c.Panels, p)
		}
		said = append(said, words)
	}
	c.Desc = strings.Join(said, "; ") + "."
	return c, len(c.Panels) > 0
}

// lotPanel draws one quantity: a point for each unit, another shape beyond the
// limits, the middle of the lot, its drift where there is one, and names at the
// units that stand apart most.
func lotPanel(l *Lot, t lot.BatchValue, limit verdict.Limit, apart []int) (plot.Panel, string) {
	unit := quantity.Screen(t.ID)
	values, half := l.series(t.ID)
	in := plot.Series{Role: plot.Plain, Points: true}
	out := plot.Series{Role: plot.Before, Points: true}
	for i, v := range values {
		s := &in
		switch {
		case math.IsNaN(v) || math.IsInf(v, 0):
			continue
		case v < limit.Lo || v > limit.Hi:
			s = &out
		}
		s.X, s.Y = append(s.X, float64(i+1)), append(s.Y, v/unit.Factor)
		if l.Units <= mostLotBars {
			s.YErr = append(s.YErr, half[i]/unit.Factor)
		}
	}
	b := scaleFor(t.ID, t.Median, absoluteStd(t))
	p := plot.Panel{
		Y:      plot.Axis{Label: symbolWithUnit(t.ID)},
		Series: []plot.Series{in, out},
		Rules:  []plot.Rule{{Y: t.Median / unit.Factor}},
	}
	p.Y.Lo, p.Y.Hi = lotRange(values, half, limit, unit.Factor)
	if !math.IsInf(limit.Lo, 0) || !math.IsInf(limit.Hi, 0) {
		p.Y.Label += ", limits " + limits(limit)
		p.YLimits = []plot.Limits{{Lo: limit.Lo / unit.Factor, Hi: limit.Hi / unit.Factor}}
	}
	if known := slices.DeleteFunc(half, math.IsNaN); l.Units > mostLotBars && len(known) > 0 {
		slices.Sort(known)
		p.Series = append(p.Series, plot.Series{Role: plot.Plain, Points: true, X: []float64{1.025 * float64(l.Units)}, Y: []float64{t.Median / unit.Factor},
			YErr: []float64{known[len(known)/2] / unit.Factor}})
	}
	if t.Trend.Drifts() {
		half := driftOf(t) / 2
		p.Series = append(p.Series, plot.Series{Name: "drift", Role: plot.Aside, Line: true,
			X: []float64{1, float64(l.Units)}, Y: []float64{(t.Median - half) / unit.Factor, (t.Median + half) / unit.Factor}})
	}
	slices.SortStableFunc(apart, func(i, j int) int {
		return cmp.Compare(math.Abs(values[j]-t.Median), math.Abs(values[i]-t.Median))
	})
	for _, i := range apart[:min(len(apart), mostLotNames)] {
		p.Markers = append(p.Markers, plot.Marker{Name: shortName(l.names[i]), Role: plot.Before, X: float64(i + 1), Y: values[i] / unit.Factor})
	}
	words := fmt.Sprintf("%s: middle %s", t.ID, neat(wording.WithUnit(b.number(t.Median), unit.Name)))
	if len(out.X) > 0 {
		words += fmt.Sprintf(", %d beyond the limits", len(out.X))
	}
	return p, words
}

// lotRange is what a panel shows: the values, the limits that are there, and a little more. Rounded
// ends would leave little of a low panel to the values.
func lotRange(values, half []float64, limit verdict.Limit, factor float64) (lo, hi float64) {
	lo, hi = math.Inf(1), math.Inf(-1)
	add := func(v float64) {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			lo, hi = min(lo, v), max(hi, v)
		}
	}
	add(limit.Lo)
	add(limit.Hi)
	for i, v := range values {
		add(v - half[i])
		add(v + half[i])
	}
	air := 0.06*(hi-lo) + 1e-6*math.Abs(hi)
	return (lo - air) / factor, (hi + air) / factor
}

// symbolWithUnit is the title of an axis: "Fs, Hz".
func symbolWithUnit(id param.ID) string {
	if unit := unitOf(id); unit != "" {
		return id.String() + ", " + neat(unit)
	}
	return id.String()
}

// shortName is a name that fits into a figure.
func shortName(name string) string {
	const most = 24
	if r := []rune(name); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return name
}
