package report

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"
	"sort"
	"strings"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/wording"
	"conewright/ts/change"
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// figures are those of one report by their place on the sheet.
type figures struct {
	answer []plot.Figure // right below the verdict
	change []plot.Figure // after the words
	ground []plot.Figure // after the tables: where it all comes from
}

func figuresOf(r *Report) (f figures) {
	add := func(to *[]plot.Figure, build func(*Report) (plot.Figure, bool)) {
		if drawn, ok := build(r); ok {
			*to = append(*to, drawn)
		}
	}
	add(&f.answer, gaugeFigure)
	add(&f.answer, pairFigure)
	add(&f.change, changeFigure)
	add(&f.change, lotFigure)
	add(&f.change, groupFigure)
	add(&f.ground, sweepFigure)
	add(&f.ground, partFigure)
	add(&f.change, exchangeFigure)
	add(&f.ground, harmonicsFigure)
	add(&f.ground, massFigure)
	return f
}

// gaugeFigure shows every checked value between its limits.
func gaugeFigure(r *Report) (plot.Figure, bool) {
	if r.Checked == nil {
		return nil, false
	}
	g := plot.Gauges{About: plot.About{Title: "Values and their limits"}}
	var said []string
	for _, j := range r.Checked.Checks {
		now := reading(j.Estimate)
		if !j.Known || !finite(now) || math.IsInf(j.Limit.Lo, 0) && math.IsInf(j.Limit.Hi, 0) || !(j.Limit.Lo < j.Limit.Hi) {
			continue
		}
		id := j.Limit.ID
		row := plot.Gauge{
			Name: id.String(), Limits: plot.Limits{Lo: j.Limit.Lo, Hi: j.Limit.Hi},
			Text:   neat(wording.WithUnit(scaleFor(id, j.Estimate.Value, j.Estimate.Std).number(j.Estimate.Value), unitOf(id))),
			LoText: limit(id, j.Limit.Lo), HiText: limit(id, j.Limit.Hi),
			Now: now, Verdict: verdictWords(j.Verdict),
		}
		if r.Compared != nil {
			if e, ok := r.Compared.Before.Get(id); ok && finite(reading(e)) {
				v := reading(e)
				row.Prior = &v
			}
		}
		g.Rows = append(g.Rows, row)
		said = append(said, fmt.Sprintf("%s %s, %s", row.Name, row.Text, row.Verdict))
	}
	g.Desc = "Each value with its 95 % interval; beyond the limits the scale is hatched. " + strings.Join(said, "; ") + "."
	return g, len(g.Rows) > 0
}

// reading is a value with its interval, widened to hold the value should the
// two not agree.
func reading(e param.Estimate) plot.Reading {
	lo, hi := e.Low, e.High
	if lo == 0 && hi == 0 {
		lo, hi = e.Value-1.96*e.Std, e.Value+1.96*e.Std
	}
	return plot.Reading{Value: e.Value, Lo: math.Min(lo, e.Value), Hi: math.Max(hi, e.Value)}
}

func finite(r plot.Reading) bool {
	return !math.IsNaN(r.Value+r.Lo+r.Hi) && !math.IsInf(r.Value, 0) && !math.IsInf(r.Lo, 0) && !math.IsInf(r.Hi, 0)
}

// changeFigure shows every change with its interval on one scale of percent.
func changeFigure(r *Report) (plot.Figure, bool) {
	if r.Compared == nil {
		return nil, false
	}
	v := plot.Intervals{About: plot.About{Title: "What changed"}}
	var said []string
	for _, id := range param.All() {
		i := slices.IndexFunc(r.Compared.Changes, func(c change.Change) bool { return c.ID == id })
		if i < 0 || !quantity.Usual(id) {
			continue
		}
		row := changeRow(r.Compared.Changes[i])
		if !finite(row.Value) {
			continue
		}
		v.Rows = append(v.Rows, row)
		said = append(said, row.Name+" "+row.Text)
	}
	v.X = percentAxis("change from before, %", v.Rows)
	v.Desc = "Change of each quantity in percent with its 95 % interval. " + strings.Join(said, "; ") + "."
	return v, len(v.Rows) > 0
}

// changeRow is a change as a row.
func changeRow(c change.Change) plot.Interval {
	return plot.Interval{Name: wording.Name(c.ID), Role: plot.After, Text: neat(changeText(c)),
		Value: plot.Reading{Value: 100 * (c.Ratio - 1), Lo: 100 * (math.Min(c.Low, c.Ratio) - 1), Hi: 100 * (math.Max(c.High, c.Ratio) - 1)}}
}

// percentAxis holds all values and limits of rows and most of their intervals:
// one badly known value must not squeeze the others into the middle.
func percentAxis(label string, rows []plot.Interval) plot.Axis {
	lo, hi := 0.0, 0.0
	for _, r := range rows {
		lo, hi = math.Min(lo, r.Value.Value), math.Max(hi, r.Value.Value)
		if r.Limits != nil {
			lo, hi = math.Min(lo, 1.2*r.Limits.Lo), math.Max(hi, 1.2*r.Limits.Hi)
		}
	}
	a := plot.Axis{Label: label, Lo: lo, Hi: hi}
	for _, r := range rows {
		a.Lo = math.Min(a.Lo, math.Max(r.Value.Lo, lo-25))
		a.Hi = math.Max(a.Hi, math.Min(r.Value.Hi, hi+25))
	}
	step := 2.0
	switch {
	case a.Hi-a.Lo > 40:
		step = 10
	case a.Hi-a.Lo > 15:
		step = 5
	}
	a.Lo, a.Hi = step*math.Floor(a.Lo/step), step*math.Ceil(a.Hi/step)
	return a
}

// pairFigure shows how far the right driver of a pair is from the left one, in
// what the pair is held to and in what else is known.
func pairFigure(r *Report) (plot.Figure, bool) {
	if r.Paired == nil {
		return nil, false
	}
	v := plot.Intervals{About: plot.About{Title: "Right against left"}}
	var said []string
	held := map[param.ID]bool{}
	for _, c := range r.Paired.Checks {
		id := c.Limit.ID
		held[id] = true
		row := changeRow(change.Change{ID: id, Ratio: 1 + c.Percent/100, Low: 1 + c.Low/100, High: 1 + c.High/100})
		// So many percent of the smaller one, whichever that is.
		row.Limits = &plot.Limits{Lo: 100 * (1/(1+c.Limit.Percent/100) - 1), Hi: c.Limit.Percent}
		row.Verdict = pairWords(c.Verdict)
		if !c.Known || !finite(row.Value) || !(row.Limits.Lo < row.Limits.Hi) {
			continue
		}
		v.Rows = append(v.Rows, row)
		said = append(said, fmt.Sprintf("%s %s, %s", row.Name, row.Text, row.Verdict))
	}
	for _, c := range r.Paired.Changes {
		row := changeRow(c)
		if held[c.ID] || !quantity.Usual(c.ID) || !finite(row.Value) {
			continue
		}
		v.Rows = append(v.Rows, row)
		said = append(said, row.Name+" "+row.Text)
	}
	v.X = percentAxis("right over left, %", v.Rows)
	v.Desc = "Difference of each quantity in percent with its 95 % interval; beyond the pair limits the scale is hatched. " + strings.Join(said, "; ") + "."
	return v, len(v.Rows) > 0
}

// pairWords is a verdict on one quantity of a pair.
func pairWords(v verdict.Verdict) string {
	switch v {
	case verdict.InSpec:
		return "matches"
	case verdict.OutOfSpec:
		return "does not match"
	}
	return "cannot tell yet"
}

// changeText writes a change with its interval: "+18 % (15 to 21)".
func changeText(c change.Change) string {
	d := max(0, min(2, wording.Decimals(100*(c.High-c.Low)/4)))
	return fmt.Sprintf("%s %% (%s to %s)", percent(c.Ratio, d), percent(c.Low, d), percent(c.High, d))
}

// drawn is a sweep as it appears in a figure.
type drawn struct {
	name string
	role plot.Role
	c    fitted.Curve
	side int
	free bool
}

// roleOf is how a side looks in all figures.
func roleOf(side string) plot.Role {
	switch side {
	case "before", "left":
		return plot.Before
	case "stripped":
		return plot.Aside
	}
	return plot.After
}

// chosen picks the sweeps to draw: of several sides the unloaded ones, of a
// single one all, the name of each kind written once.
func chosen(sides []Side) []drawn {
	var out []drawn
	named := map[string]bool{}
	for i, s := range sides {
		for k, c := range s.Curves {
			d := drawn{name: s.Label, role: roleOf(s.Label), c: c.Curve, side: i, free: c.Load.Kind == measured.Free}
			if len(sides) > 1 {
				if !d.free && k > 0 {
					continue
				}
			} else {
				d.name = loadWords(c.Load)
				if len(s.Curves) == 1 {
					d.name = ""
				}
				switch c.Load.Kind {
				case measured.AddedMass:
					d.role = plot.Before
				case measured.KnownBox:
					d.role = plot.Aside
				}
			}
			if named[d.name] {
				d.name = ""
			}
			named[d.name] = true
			out = append(out, d)
		}
	}
	return out
}

// sweepFigure shows impedance, phase and residuals over frequency.
func sweepFigure(r *Report) (plot.Figure, bool) {
	sweeps := chosen(r.Sides)
	if len(sweeps) == 0 {
		return nil, false
	}
	c := plot.Chart{
		About: plot.About{Title: "Impedance over frequency"},
		X:     plot.Axis{Label: "frequency, Hz", Log: true},
	}
	size := plot.Panel{Y: plot.Axis{Label: "impedance, Ω (points: measured, line: fitted)", Zero: true}, Height: 230}
	phase := plot.Panel{Y: plot.Axis{Label: "phase, degrees", Angle: true}, Height: 115, Rules: []plot.Rule{{Y: 0}}}
	rest := plot.Panel{Y: plot.Axis{Label: "measured less fitted, % of impedance"}, Height: 80, Rules: []plot.Rule{{Y: 0}}}
	for _, s := range sweeps {
		t := trace(s.c)
		size.Series = append(size.Series,
			plot.Series{Role: s.role, X: t.f, Y: t.measured, Points: true},
			plot.Series{Name: s.name, Role: s.role, X: t.f, Y: t.fitted, Line: true})
		if t.hasPhase {
			phase.Series = append(phase.Series,
				plot.Series{Role: s.role, X: t.f, Y: t.measuredPhase, Points: true},
				plot.Series{Name: s.name, Role: s.role, X: t.f, Y: t.fittedPhase, Line: true})
		}
		rest.Series = append(rest.Series, plot.Series{Role: s.role, X: t.f, Y: t.residual, Points: true})
	}
	if lo, hi, ok := fsLimits(r.Checked); ok {
		size.XLimits = []plot.Limits{{Name: "limits of Fs", Lo: lo, Hi: hi}}
	}
	said := []string{}
	for i, s := range r.Sides {
		e, ok := s.Parameters.Get(param.Fs)
		k := slices.IndexFunc(sweeps, func(d drawn) bool { return d.side == i && d.free })
		if !ok || k < 0 {
			continue
		}
		text := "Fs " + wording.WithUnit(scaleFor(param.Fs, e.Value, e.Std).number(e.Value), "Hz")
		said = append(said, strings.TrimSpace(s.Label+" "+text))
		if y, ok := at(sweeps[k].c, e.Value); ok {
			size.Markers = append(size.Markers, plot.Marker{Name: text, Role: sweeps[k].role, X: e.Value, Y: y, Drop: true})
		}
	}
	c.Panels = []plot.Panel{size, phase, rest}
	if len(phase.Series) == 0 {
		c.Panels = []plot.Panel{size, rest}
	}
	c.Desc = "Size and phase of the impedance, measured and fitted, and what is left between the two. " + strings.Join(said, "; ") + "."
	return c, true
}

// fsLimits returns the limits of Fs, where the sheet has some.
func fsLimits(c *verdict.Checked) (lo, hi float64, ok bool) {
	if c == nil {
		return 0, 0, false
	}
	for _, j := range c.Checks {
		if j.Limit.ID == param.Fs {
			return j.Limit.Lo, j.Limit.Hi, true
		}
	}
	return 0, 0, false
}

// tracks are the columns of one curve for drawing.
type tracks struct {
	f, measured, fitted, measuredPhase, fittedPhase, residual []float64
	hasPhase                                                  bool
}

// trace splits a curve into size and phase. Points that cannot be drawn, for
// which there is no fit for instance, are left out.
func trace(c fitted.Curve) tracks {
	var t tracks
	for i, f := range c.Freq {
		if i >= len(c.Measured) || i >= len(c.Fitted) || !(f > 0) || bad(c.Measured[i]) || bad(c.Fitted[i]) {
			continue
		}
		m, z := c.Measured[i], c.Fitted[i]
		t.f = append(t.f, f)
		t.measured = append(t.measured, cmplx.Abs(m))
		t.fitted = append(t.fitted, cmplx.Abs(z))
		t.measuredPhase = append(t.measuredPhase, cmplx.Phase(m)*180/math.Pi)
		t.fittedPhase = append(t.fittedPhase, cmplx.Phase(z)*180/math.Pi)
		t.residual = append(t.residual, 100*(cmplx.Abs(m)/cmplx.Abs(z)-1))
		// A sweep without phase holds sizes: no imaginary part at all.
		t.hasPhase = t.hasPhase || imag(m) != 0
	}
	return t
}

func bad(z complex128) bool { return z == 0 || cmplx.IsNaN(z) || cmplx.IsInf(z) }

// at returns the fitted size of the impedance at f, between the points of the
// sweep; false outside of it.
func at(c fitted.Curve, f float64) (float64, bool) {
	n := min(len(c.Freq), len(c.Fitted))
	k := sort.SearchFloat64s(c.Freq[:n], f)
	if n == 0 || k == n || k == 0 && c.Freq[0] != f {
		return 0, false
	}
	if c.Freq[k] == f {
		return cmplx.Abs(c.Fitted[k]), !bad(c.Fitted[k])
	}
	w := math.Log(f/c.Freq[k-1]) / math.Log(c.Freq[k]/c.Freq[k-1])
	y := (1-w)*cmplx.Abs(c.Fitted[k-1]) + w*cmplx.Abs(c.Fitted[k])
	return y, !math.IsNaN(y) && !math.IsInf(y, 0)
}
