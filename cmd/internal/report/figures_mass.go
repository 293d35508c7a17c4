package report

import (
	"fmt"
	"math"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/wording"
	"conewright/ts/param"
	"conewright/ts/ring"
)

// massFigure shows the mass line of a driver that was measured with several
// masses.
func massFigure(r *Report) (plot.Figure, bool) {
	if len(r.Sides) != 1 || r.Sides[0].MassLine == nil {
		return nil, false
	}
	return MassLineFigure(*r.Sides[0].MassLine), true
}

// MassLineFigure draws 1/w^2 over the added mass with its straight line, the
// 95 % band of the line, and below it how far each point lies off the line in
// standard uncertainties.
func MassLineFigure(m ring.MassLine) plot.Chart {
	const toGram, toMs2 = 1e3, 1e6
	points := plot.Series{Name: "measured", Role: plot.Plain, Points: true}
	off := plot.Series{Role: plot.Plain, Points: true}
	last := 0.0
	for i, p := range m.Line.Points {
		points.X = append(points.X, p.X*toGram)
		points.Y = append(points.Y, p.Y*toMs2)
		points.XErr = append(points.XErr, 1.96*p.StdX*toGram)
		points.YErr = append(points.YErr, 1.96*p.StdY*toMs2)
		off.X = append(off.X, p.X*toGram)
		off.Y = append(off.Y, m.Points[i].Residual)
		last = math.Max(last, p.X)
	}
	line := plot.Series{Role: plot.After, Line: true}
	line.Name = "slope: compliance " + Quantity(param.Cms, m.Cms)
	band := plot.Band{Role: plot.After}
	first := -m.Mms.Value - 0.06*(last+m.Mms.Value)
	for k := 0; k <= 60; k++ {
		x := first + (1.06*last-first)*float64(k)/60
		y, std := m.Line.At(x)
		line.X, line.Y = append(line.X, x*toGram), append(line.Y, y*toMs2)
		band.X = append(band.X, x*toGram)
		band.Lo, band.Hi = append(band.Lo, (y-1.96*std)*toMs2), append(band.Hi, (y+1.96*std)*toMs2)
	}
	mms := "moving mass " + Quantity(param.Mms, m.Mms)
	c := plot.Chart{
		About: plot.About{Title: "Mass line", Desc: fmt.Sprintf("One over the square of the resonance against the added mass, with a straight line. It meets zero at minus the %s; %s.", mms, line.Name)},
		X:     plot.Axis{Label: "added mass, g"},
		Panels: []plot.Panel{{
			Y: plot.Axis{Label: "1/ω², (ms)²", Zero: true}, Height: 250,
			Series: []plot.Series{line, points}, Bands: []plot.Band{band},
			Markers: []plot.Marker{{Name: mms, Role: plot.After, X: -m.Mms.Value * toGram, Y: 0}},
			Rules:   []plot.Rule{{Y: 0}},
		}},
	}
	if m.Line.DoF > 0 {
		c.Panels = append(c.Panels, plot.Panel{
			Y: plot.Axis{Label: "distance from the line, standard uncertainties"}, Height: 90,
			Series: []plot.Series{off}, Rules: []plot.Rule{{Y: 0}},
			YLimits: []plot.Limits{{Lo: -2, Hi: 2}},
		})
	}
	return c
}

// Quantity writes a value with its unit as exactly as its uncertainty deserves, as a page
// does: "0.620 mm/N".
func Quantity(id param.ID, v ring.Spread) string {
	return neat(wording.WithUnit(scaleFor(id, v.Value, v.Std).number(v.Value), unitOf(id)))
}
