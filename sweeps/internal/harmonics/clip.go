package harmonics

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"
	"conewright/ts/notice"
)

const (
	leastClipping = 0.002 // loss of gain at the loudest, that moves the impedance as much as inputs usually differ
	clipAlike     = 0.25  // scatter of the coefficient over the sweep, relative to it: that of a driver falls by decades
	clipSpan      = 3.0   // octaves that it must be alike over
)

// softClipping returns which input clips softly, nil where none does. An input that records x - k x^3 of a tone with the
// phasor X adds k X^3/4 of order 3, with the same k at every frequency. Channel 2 then has this beyond the ratio h(3f)
// times channel 1, and channel 1 lacks it:
//
//	channel 2   third(3f) = k Y^3/4, Y = h(f) X      channel 1   third(3f) = -h(3f) k X^3/4
//
// at the frequencies freq (Hz). What a driver adds follows its displacement and is not alike at all frequencies; what an
// amplifier adds passes through the driver and drops out of third. The loss of gain at the amplitude |X| is 3 k |X|^2/4.
// Derived from sin^3 a = (3 sin a - sin 3a)/4.
func softClipping(e *spectra.Result, h curve, freq []float64, fundamental, third response) *notice.Notice {
	if len(freq) == 0 || math.Log2(freq[len(freq)-1]/freq[0]) < clipSpan {
		return nil
	}
	var quarter [2][]complex128 // k/4, by channel
	var loudest [2]float64
	for _, f := range freq {
		x, r := fundamental.at(f), third.at(3*f)
		y := h.at(f) * x
		quarter[0] = append(quarter[0], -r/(h.at(3*f)*x*x*x))
		quarter[1] = append(quarter[1], r/(y*y*y))
		loudest[0], loudest[1] = max(loudest[0], cmplx.Abs(x)), max(loudest[1], cmplx.Abs(y))
	}
	for c := range quarter {
		k, alike := steady(quarter[c])
		if loss := 3 * k * loudest[c] * loudest[c]; alike && loss > leastClipping {
			return notice.New("soft-clipping", notice.Facts{"channel": e.Number(c), "loss": loss})
		}
	}
	return nil
}

// steady returns the median of the real parts, and whether nine in ten of the numbers are near it.
func steady(all []complex128) (median float64, ok bool) {
	var re, off []float64
	for _, v := range all {
		re = append(re, real(v))
	}
	median = dsp.Median(re)
	for _, v := range all {
		off = append(off, cmplx.Abs(v-complex(median, 0)))
	}
	slices.Sort(off)
	return median, off[len(off)*9/10] < clipAlike*median
}
