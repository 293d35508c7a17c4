package contact

import (
	"math"

	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"

	"gonum.org/v1/gonum/floats"
)

const (
	mostLost    = 0.3  // share of what is known of a point, as an amplitude, that may lie in a gap
	errorAround = 0.3  // s on either side of a gap that tell how well it is known
	usualError  = 0.02 // of a filling at frequencies where that cannot be told, relative
)

// fillingErrors tells for each interval how far what stands in may be off, relative to
// channel 2: as if all that the ratio h fails to explain of what was recorded around
// it came from there.
func fillingErrors(e *spectra.Result, intervals []spectra.Interval, h ratioCurve) []float64 {
	rate := e.Low[0].Rate
	rest, power := residual(e, h), e.Stats[1].Blocks()
	errors := make([]float64, len(intervals))
	for i, m := range intervals {
		errors[i] = usualError
		lo, hi := max(0, int((m.From-errorAround)/spectra.BlockSeconds)), min(len(power), int((m.To+errorAround)/spectra.BlockSeconds))
		from, to := int(float64(lo)*spectra.BlockSeconds*rate), min(len(rest), int(float64(hi)*spectra.BlockSeconds*rate))
		if lo >= hi || from >= to {
			continue
		}
		all := floats.Sum(power[lo:hi]) / float64(hi-lo) * float64(to-from)
		recorded, off := floats.Norm(e.Low[1].Samples[from:to], 2), floats.Norm(rest[from:to], 2)
		if recorded*recorded > 0.1*all { // the low rate holds low frequencies only
			errors[i] = off / math.Sqrt(all*(m.To-m.From)*rate/float64(to-from))
		}
	}
	return errors
}

// stillKnown returns the points that are still known well without the gaps,
// with the error of each filling. A sweep passes each frequency once, so a gap
// may hold all that was known of it. What a gap takes is its part of the
// spectrum of channel 1.
func (g *gaps) stillKnown(points []spectra.Point, filling []float64) []spectra.Point {
	var kept []spectra.Point
	for _, pt := range points {
		var lost, off float64
		for i, q := range g.list {
			part := powerAt(q.driven[q.lead:q.lead+len(q.samples)], pt.Freq/g.whole.Rate) / (g.whole.Rate * g.whole.Rate) / (pt.Power / pt.Freq)
			lost += part
			off += part * filling[i] * filling[i]
		}
		if lost < mostLost*mostLost {
			pt.Gain /= 1 - math.Sqrt(lost)
			pt.Split += off * dsp.SqAbs(pt.Ratio)
			kept = append(kept, pt)
		}
	}
	return kept
}

// powerAt returns the power of the Fourier transform of x at one frequency
// (fraction of the sample rate), by Goertzel's recursion.
func powerAt(x []float64, f float64) float64 {
	twice := 2 * math.Cos(2*math.Pi*f)
	var s1, s2 float64
	for _, v := range x {
		s1, s2 = v+twice*s1-s2, s1
	}
	return s1*s1 + s2*s2 - twice*s1*s2
}
