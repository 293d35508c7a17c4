// Package live looks at a sweep while it is recorded: the impedance so far, and what goes
// wrong. What it says is for the eyes of the person at the bench; the result comes from the
// whole recording, by package sweeps.
package live

import (
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
}

// NewCurve begins a recording of the sweep at rate (Hz) on the bench b.
func NewCurve(b bench.Bench, sweep signal.Signal, rate int) (*Curve, error) {
	if err := b.Check(); err != nil {
		return nil, err
	}
	return &Curve{b, sweep, float64(rate), spectra.NewLive(float64(rate))}, nil
}

// Push takes in what was recorded since.
func (c *Curve) Push(ch1, ch2 []float64) { c.spectra.Push(ch1, ch2) }

// Impedance returns the impedance at the frequencies that the sweep, which began at the time
// began (s) of the recording, has passed; without points, when it has not passed any. Points
// near the frequency that it passes now may still move.
func (c *Curve) Impedance(began float64) (measured.Impedance, error) {
	found := c.spectra.Look(c.bench.SwapChannels, func(t float64) float64 { return c.sweep.Passing(t - began) })
	found.Rec = &bench.Recording{}
	return found.Impedance(c.bench)
}
