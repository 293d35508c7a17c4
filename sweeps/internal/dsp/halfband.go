package dsp

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// Halfband halves the sample rate of a stream: a low-pass with its middle at
// a quarter of the rate, of which every second coefficient is zero, and of the
// result every second sample. Both channels go through the same filter, so the
// ratio of their spectra does not change.
//
// Source: Kaiser's window method for filters, with his formulas for length and
// shape; textbooks of digital signal processing (from memory).
type Halfband struct {
	taps   []float64 // coefficients at the distances ..., -3, -1, 1, 3, ... from the middle
	middle float64
	odd    bool      // the next sample has an odd number
	centre []float64 // samples of even number that are still needed
	side   []float64 // those of odd number, from len(taps)/2 before the first of centre
	out    []float64
}

// stopBand is the attenuation of what would fold back into the pass band, dB.
const stopBand = 100

// NewHalfband returns a filter that passes up to pass (fraction of the incoming
// rate, below 1/4) and stops what would fold back below that.
func NewHalfband(pass float64) *Halfband {
	length := (stopBand - 7.95) / (14.36 * (0.5 - 2*pass))
	n := int(math.Ceil((length + 1) / 4))
	beta := 0.1102 * (stopBand - 8.7)
	h := &Halfband{taps: make([]float64, 2*n), side: make([]float64, n), middle: 0.5}
	sum := 0.5
	for k := range n {
		d := float64(2*k + 1)
		r := d / float64(2*n)
		c := 0.5 * Sinc(d/2) * Bessel0(beta*math.Sqrt(1-r*r)) / Bessel0(beta)
		h.taps[n+k], h.taps[n-1-k] = c, c
		sum += 2 * c
	}
	floats.Scale(1/sum, h.taps)
	h.middle /= sum
	return h
}

// filterBlock is the number of outputs that are made at a time: with what goes
// into them they stay in the nearest cache.
const filterBlock = 1024

// Push takes in samples and returns the outputs that they complete. The result
// is overwritten by the next call.
func (h *Halfband) Push(samples []float64) []float64 {
	first, second := &h.centre, &h.side
	if h.odd {
		first, second = second, first
	}
	deal(first, second, samples)
	h.odd = h.odd != (len(samples)%2 == 1)

	n := max(0, min(len(h.centre), len(h.side)-len(h.taps)+1))
	h.out = slices.Grow(h.out[:0], n)[:n]
	// Tap by tap over many outputs: gonum adds slices with vector instructions,
	// and output by output would be a call each.
	for from := 0; from < n; from += filterBlock {
		to := min(n, from+filterBlock)
		out := h.out[from:to]
		floats.ScaleTo(out, h.middle, h.centre[from:to])
		for k, t := range h.taps {
			floats.AddScaled(out, t, h.side[from+k:to+k])
		}
	}
	h.centre = h.centre[:copy(h.centre, h.centre[n:])]
	h.side = h.side[:copy(h.side, h.side[n:])]
	return h.out
}

// deal appends the samples to first and second in turn.
func deal(first, second *[]float64, samples []float64) {
	n := len(samples) / 2
	a, b := len(*first), len(*second)
	*first = slices.Grow(*first, n+1)[:a+n]
	*second = slices.Grow(*second, n)[:b+n]
	even, odd := (*first)[a:], (*second)[b:][:n]
	for i := range even {
		pair := samples[2*i:][:2]
		even[i], odd[i] = pair[0], pair[1]
	}
	if len(samples)%2 == 1 {
		*first = append(*first, samples[2*n])
	}
}
