package spectra

import (
	"math"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/floats"
)

// A segment without signal in the band of its level is passed over: of an
// exponential sweep three quarters lie below the highest band. All that it could
// add is noise, and not even that of the segments that tell the ratio.
// Theory (6.18).
const (
	bandShare = 1e-6 // of the power of a segment; all that is left out is far below weakestBand
	bandTaps  = 257  // of the filter that passes the band, and samples between its outputs: a prime, which no usual tone keeps step with
	bandStop  = 0.03 // of the sample rate, below which it passes nothing: -80 dB
)

// aboveBand is a high-pass that passes what lies above the lower end of the band
// of a level. Source: as halfband.
var aboveBand = func() []float64 {
	taps := make([]float64, bandTaps)
	const (
		middle = (bandStop + Usable/8) / 2
		beta   = 0.1102 * (80 - 8.7)
		half   = bandTaps / 2
	)
	for i := range taps {
		d := float64(i - half)
		r := d / (half + 1)
		taps[i] = -2 * middle * dsp.Sinc(2*middle*d) * dsp.Bessel0(beta*math.Sqrt(1-r*r)) / dsp.Bessel0(beta)
	}
	taps[half]++
	return taps
}()

// bandPower returns the share that the band of a level has in the power of a
// segment x without its mean. One output of the filter for as many samples as it
// has taps is a fair sample, and costs next to nothing. A segment that is too
// short for it counts as all band.
func bandPower(x []float64) float64 {
	looks := len(x) / bandTaps
	n := float64(len(x))
	mean := floats.Sum(x) / n
	all := floats.Dot(x, x)/n - mean*mean
	if looks == 0 || !(all > 0) {
		return 1
	}
	band := 0.0
	for i := range looks {
		v := floats.Dot(aboveBand, x[i*bandTaps:(i+1)*bandTaps])
		band += v * v
	}
	return band / float64(looks) / all
}
