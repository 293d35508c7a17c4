package report

import (
	"fmt"
	"math"
	"math/cmplx"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/quantity"
	"conewright/ts/network"
	"conewright/ts/param"
)

// partFigure shows impedance, size and series resistance of parts over frequency.
func partFigure(r *Report) (plot.Figure, bool) {
	if len(r.Parts) == 0 || r.Drawer != nil {
		return nil, false
	}
	kind := r.Parts[0].Found.Kind
	c := plot.Chart{About: plot.About{Title: "The part over frequency"}, X: plot.Axis{Label: "frequency, Hz", Log: true}}
	size := param.L
	if kind == network.Capacitor {
		size = param.C
	}
	unit := quantity.Screen(size)
	whole := plot.Panel{Y: plot.Axis{Label: "impedance, Ω (points: measured, line: law)", Log: true}, Height: 200}
	values := plot.Panel{Y: plot.Axis{Label: fmt.Sprintf("%s, %s", size, neat(unit.Name))}, Height: 110}
	loss := plot.Panel{Y: plot.Axis{Label: "resistance in series, Ω", Zero: true}, Height: 110}
	for i, p := range r.Parts {
		if p.Found.Kind != kind {
			continue
		}
		role, name := plot.After, ""
		if len(r.Parts) > 1 {
			name = r.Sides[i].Label
			role = roleOf(name)
		}
		z := p.Found.Measured
		var f, measured, fitted, near, sizes, losses []float64
		for k, v := range z.Z {
			f = append(f, z.Freq[k])
			measured = append(measured, cmplx.Abs(v))
			fitted = append(fitted, cmplx.Abs(p.Found.Law.Impedance(z.Freq[k])))
			if z.Sigma != nil && z.Sigma[k] > quiet*cmplx.Abs(v) || !(z.Freq[k] >= audible) {
				continue
			}
			x := imag(v) / (2 * math.Pi * z.Freq[k])
			if kind == network.Capacitor {
				x = -1 / (2 * math.Pi * z.Freq[k] * imag(v))
			}
			near, sizes, losses = append(near, z.Freq[k]), append(sizes, x/unit.Factor), append(losses, real(v))
		}
		whole.Series = append(whole.Series, plot.Series{Role: role, X: f, Y: measured, Points: true}, plot.Series{Name: name, Role: role, X: f, Y: fitted, Line: true})
		if kind != network.Resistor {
			values.Series = append(values.Series, plot.Series{Name: name, Role: role, X: near, Y: sizes, Points: true})
		}
		loss.Series = append(loss.Series, plot.Series{Name: name, Role: role, X: near, Y: losses, Points: true})
	}
	c.Panels = []plot.Panel{whole, values, loss}
	if kind == network.Resistor {
		c.Panels = []plot.Panel{whole, loss}
	}
	c.Desc = "Size of the impedance, measured and by the law that fits it; below it what the part is as a series circuit."
	return c, true
}

const (
	quiet   = 3e-3 // noise relative to the impedance, up to which a point is shown as a series circuit
	audible = 20.0 // Hz
)

// exchangeFigure shows what a new part changes at each driver.
func exchangeFigure(r *Report) (plot.Figure, bool) {
	if r.Exchange == nil || len(r.Exchange.Drivers) == 0 {
		return nil, false
	}
	p := plot.Panel{Y: plot.Axis{Label: "change of the voltage, dB", Zero: true}, Rules: []plot.Rule{{Y: 0}}}
	for i, d := range r.Exchange.Drivers {
		p.Series = append(p.Series, plot.Series{Name: d.Name, Role: []plot.Role{plot.After, plot.Before, plot.Aside}[min(i, 2)], X: d.Freq, Y: d.Level, Line: true})
	}
	first := r.Exchange.Drivers[0]
	return plot.Chart{About: plot.About{Title: "What each driver gets", Desc: fmt.Sprintf("Change of the voltage at each driver by the new part; largest %+.2f dB at %s Hz, %s.", first.Largest, plainHz(first.At), first.Name)},
		X: plot.Axis{Label: "frequency, Hz", Log: true}, Panels: []plot.Panel{p}}, true
}
