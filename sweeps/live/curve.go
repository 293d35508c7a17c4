// Package live looks at a sweep while it is recorded: the impedance so far, and what goes
// wrong. What it says is for the eyes of the person at the bench; the result comes from the
// whole recording, by package sweeps.
package live

import (
	"math"
	"math/cmplx"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/spectra"
	"conewright/sweeps/signal"
	"conewright/ts/measured"
)

// Curve is the impedance so far.
type Curve struct {
	bench   bench.Bench
	sweep   signal.Signal
	rate    float64
	spectra *spectra.Live
	last    [2][]float64 // samples of both channels, for the tip
}

const (
	tipSeconds = 0.03 // of recording that tell the tip, at least
	tipPeriods = 1.5
	tipMemory  = 0.5 // s
)

// NewCurve begins a recording of the sweep at rate (Hz) on the bench b.
func NewCurve(b bench.Bench, sweep signal.Signal, rate int) (*Curve, error) {
	if err := b.Check(); err != nil {
		return nil, err
	}
	return &Curve{bench: b, sweep: sweep, rate: float64(rate), spectra: spectra.NewLive(float64(rate))}, nil
}

// Push takes in what was recorded since.
func (c *Curve) Push(ch1, ch2 []float64) {
	c.spectra.Push(ch1, ch2)
	for i, x := range [2][]float64{ch1, ch2} {
		all := append(c.last[i], x...)
		c.last[i] = append(c.last[i][:0], all[max(0, len(all)-int(tipMemory*c.rate)):]...)
	}
}

// Impedance returns the impedance at the frequencies that the sweep, which began at the time
// began (s) of the recording, has passed; without points, when it has not passed any. Points
// near the frequency that it passes now may still move.
func (c *Curve) Impedance(began float64) (measured.Impedance, error) {
	found := c.spectra.Look(c.bench.SwapChannels, func(t float64) float64 { return c.sweep.Passing(t - began) })
	found.Rec = &bench.Recording{}
	return found.Impedance(c.bench)
}

// Tip returns the impedance at the frequency (Hz) that the sweep passes now, from the last
// moments of both channels: channel 2 as a sum of channel 1 and of channel 1 a quarter of a
// period earlier and later. It is there at once, and where a resonance still rings it is some
// percent off.
func (c *Curve) Tip(passing float64) (z complex128, ok bool) {
	quarter := int(math.Round(c.rate / passing / 4))
	window := int(max(tipSeconds, tipPeriods/passing) * c.rate)
	x, y := c.last[0], c.last[1]
	if c.bench.SwapChannels {
		x, y = y, x
	}
	n := len(x)
	if quarter < 1 || window+2*quarter > n {
		return 0, false
	}
	var xx, dd, xd, xy, dy float64
	for i := n - quarter - window; i < n-quarter; i++ {
		a, d := x[i], x[i+quarter]-x[i-quarter]
		xx += a * a
		dd += d * d
		xd += a * d
		xy += a * y[i]
		dy += d * y[i]
	}
	det := xx*dd - xd*xd
	if !(det > 1e-6*xx*dd) {
		return 0, false
	}
	a, b := (xy*dd-dy*xd)/det, (dy*xx-xy*xd)/det
	z = c.bench.Impedance(passing, complex(a, 2*b*math.Sin(2*math.Pi*passing/c.rate*float64(quarter))))
	return z, !cmplx.IsNaN(z) && !cmplx.IsInf(z)
}
