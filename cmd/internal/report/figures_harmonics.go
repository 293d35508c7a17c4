package report

import (
	"fmt"
	"math"
	"math/cmplx"
	"slices"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/wording"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// shownOrders are the harmonics of the figure: the second tells of what is uneven between inward and outward, odd ones of
// friction and of what is uneven but symmetric.
var shownOrders = []int{2, 3, 5}

// widestHarmonics is how far above the resonance the figure reaches: the cone hardly moves beyond.
const widestHarmonics = 8

// harmonicsFigure shows what harmonics the drivers add to their current, in percent of it.
func harmonicsFigure(r *Report) (plot.Figure, bool) {
	c := plot.Chart{About: plot.About{Title: "Harmonics of the current"}, X: plot.Axis{Label: "frequency, Hz", Log: true}}
	for k, order := range shownOrders {
		p := plot.Panel{Y: plot.Axis{Label: fmt.Sprintf("order %d, %% of the current (dotted: noise floor)", order), Log: true}, Height: 110}
		for _, s := range r.Sides {
			size, floor := harmonicSeries(s, order)
			if len(size.X) < 2 {
				continue
			}
			if k == 0 {
				size.Name = s.Label
			}
			p.Series = append(p.Series, size, floor)
		}
		if len(p.Series) > 0 {
			c.Panels = append(c.Panels, p)
		}
	}
	c.Desc = "Harmonics that the driver itself adds to its current, over the frequency of the sweep, without those of the amplifier."
	for _, s := range r.Sides {
		if s.Friction != nil {
			c.Desc += " " + saidOf(s.Label, wording.Friction(*s.Friction))
		}
	}
	return c, len(c.Panels) > 0
}

// saidOf puts the side before a sentence.
func saidOf(label, sentence string) string {
	if label == "" {
		return sentence
	}
	return label + ": " + sentence
}

// harmonicSeries returns one order in percent of the current, and its noise floor.
func harmonicSeries(s Side, order int) (size, floor plot.Series) {
	size, floor = plot.Series{Role: roleOf(s.Label), Line: true}, plot.Series{Role: plot.Aside, Line: true}
	fs, ok := s.Parameters.Get(param.Fs)
	i := slices.IndexFunc(s.Curves, func(c Curve) bool { return c.Load.Kind == measured.Free })
	if s.Harmonics == nil || !ok || i < 0 || order-2 >= len(s.Harmonics.Orders) {
		return size, floor
	}
	h := s.Harmonics
	o := h.Orders[order-2]
	for k, now := range o.Current {
		f := h.Freq[k]
		z, inside := at(s.Curves[i].Curve, f)
		if !inside || f > widestHarmonics*fs.Value {
			continue
		}
		percent := 100 * z / h.Voltage[k]
		noise := math.Sqrt2 * o.Noise[k] * percent
		size.X, floor.X = append(size.X, f), append(floor.X, f)
		size.Y, floor.Y = append(size.Y, math.Max(cmplx.Abs(now)*percent, noise/3)), append(floor.Y, noise)
	}
	return size, floor
}
