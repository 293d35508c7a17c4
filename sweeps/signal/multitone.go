package signal

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
)

// tonesPerOctave is the density of a multitone where the period allows it.
const tonesPerOctave = 48

// multitoneLines returns the numbers of the excited lines, in units of one over
// the period, for a band from lo to hi (Hz).
//
// Only odd lines are excited, so that whatever appears on an even line is
// distortion of even order. Out of each group of four neighbouring odd lines
// one drawn by lot stays empty as well: what appears there is distortion of odd
// order. Further up the grid is thinned to tonesPerOctave, and the gaps do the
// same service. Theory (6.3).
//
// Source: Pintelon and Schoukens, System Identification, 2nd ed., odd random
// phase multisines with random harmonic grid (from memory).
func multitoneLines(lo, hi, period float64, rng *rand.Rand) []int {
	var lines []int
	first := int(math.Ceil(lo*period)) | 1
	last := hi * period
	group, skip := 0, rng.IntN(4)
	next := 0.0
	for k := first; float64(k) <= last; k += 2 {
		empty := group == skip
		if group++; group == 4 {
			group, skip = 0, rng.IntN(4)
		}
		if empty || float64(k) < next {
			continue
		}
		lines = append(lines, k)
		next = float64(k) * math.Exp2(1.0/tonesPerOctave)
	}
	return lines
}

// multitone returns as many whole periods as fit the duration, the first of
// which lets the driver settle, and then goes on for the length of the fade.
// A period is a sum of equal tones over the lines of multitoneLines; its length
// is rounded up to one that the transform is fast for.
func (s Signal) multitone() []float64 {
	n := dsp.Smooth5(int(math.Round(s.Period * float64(s.Rate))))
	rng := rand.New(rand.NewPCG(s.Seed, 0x746f6e65))
	lines := multitoneLines(s.Lo, s.Hi, float64(n)/float64(s.Rate), rng)
	spectrum := make([]complex128, n/2+1)
	for _, k := range lines {
		spectrum[k] = cmplx.Rect(1, 2*math.Pi*rng.Float64())
	}
	one := fourier.NewFFT(n).Sequence(nil, spectrum)
	x := make([]float64, n*int(s.Duration/s.Period)+int(s.Fade*float64(s.Rate)))
	for i := range x {
		x[i] = one[i%n]
	}
	return x
}
