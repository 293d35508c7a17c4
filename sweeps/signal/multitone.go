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

// crestRounds is the number of rounds of lowerCrest.
const crestRounds = 60

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
// is rounded up to one that the transform likes.
func (s Signal) multitone() []float64 {
	n := dsp.Smooth5(int(math.Round(s.Period * float64(s.Rate))))
	rng := rand.New(rand.NewPCG(s.Seed, 0x746f6e65))
	lines := multitoneLines(s.Lo, s.Hi, float64(n)/float64(s.Rate), rng)
	spectrum := make([]complex128, n/2+1)
	for _, k := range lines {
		spectrum[k] = cmplx.Rect(1, 2*math.Pi*rng.Float64())
	}
	fft := fourier.NewFFT(n)
	one := fft.Sequence(nil, spectrum)
	if s.LowCrest {
		lowerCrest(fft, one, spectrum, lines)
	}
	x := make([]float64, n*int(s.Duration/s.Period)+int(s.Fade*float64(s.Rate)))
	for i := range x {
		x[i] = one[i%n]
	}
	return x
}

// lowerCrest changes the phases of the lines so that the peak of one, the
// period in time, becomes smaller: it clips the period and keeps the phases of
// what comes out, over and over.
//
// Source: Van der Ouderaa, Schoukens, Renneboog, "Peak factor minimization
// using a time-frequency domain swapping algorithm", IEEE Trans. Instrum. Meas.
// 37, 1988 (from memory).
func lowerCrest(fft *fourier.FFT, one []float64, spectrum []complex128, lines []int) {
	clipped := make([]complex128, len(spectrum))
	rms := math.Sqrt(2 * float64(len(lines)))
	for round := range crestRounds {
		// The rms of the period is that of its tones and does not change.
		limit := rms * (1.2 + 0.6*float64(round)/crestRounds)
		for i, v := range one {
			one[i] = min(max(v, -limit), limit)
		}
		fft.Coefficients(clipped, one)
		for _, k := range lines {
			spectrum[k] = cmplx.Rect(1, cmplx.Phase(clipped[k]))
		}
		fft.Sequence(one, spectrum)
	}
}
