// Package checks decides whether a recording is of use and says what is wrong with
// it.
package checks

import (
	"math"
	"slices"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/notice"
)

// sameWithin is the distance of the ratio from 1 within which both channels record the same.
const sameWithin = 1e-3

// Misconnected refuses recordings whose ratio of channels no driver can give in
// the wiring of b.
func Misconnected(e *spectra.Result, b bench.Bench) error {
	var size, re, off []float64
	for _, p := range e.Points {
		if p.Freq > 5000 && len(size) >= spectra.FewestPoints {
			break
		}
		if p.Variance() > dsp.SqAbs(p.Ratio)/9 {
			continue // noise, not a ratio
		}
		size = append(size, math.Sqrt(dsp.SqAbs(p.Ratio)))
		re = append(re, real(p.Ratio))
		off = append(off, math.Sqrt(dsp.SqAbs(p.Ratio-1)))
	}
	if len(size) < min(spectra.FewestPoints, len(e.Points)) || len(size) == 0 {
		return Unrelated(e, b.Wiring)
	}
	slices.Sort(size)
	if err := trace(e, b.Wiring, size); err != nil {
		return err
	}
	slices.Sort(off)
	within := sameWithin
	if b.Wiring == bench.Probes {
		within = sameWithin / 5 // a resistor equal to the series resistor is a fair test
	}
	if off[len(off)*9/10] < within {
		return notice.New("same-signal", notice.Facts{"wiring": b.Wiring.String()}).In(e.Rec.Source)
	}
	if b.Wiring != bench.Probes && dsp.Median(size) > 1 {
		if e.Swap {
			return notice.New("channels-not-swapped", notice.Facts{"channel": e.Number(1), "amplifier": e.Number(0)}).In(e.Rec.Source)
		}
		return notice.New("channels-swapped", notice.Facts{"channel": e.Number(1), "amplifier": e.Number(0)}).In(e.Rec.Source)
	}
	if dsp.Median(re) < 0 {
		return notice.New("polarity", nil).In(e.Rec.Source)
	}
	return nil
}
