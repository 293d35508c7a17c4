package spectra

import (
	"math"

	"conewright/sweeps/internal/dsp"

	"github.com/mjibson/go-dsp/fft"
	"github.com/mjibson/go-dsp/spectral"
	"github.com/mjibson/go-dsp/window"
)

// WelchPoints estimates the ratio of two channels from windowed, overlapping
// segments: H = Syx/Sxx, with the random error that the coherence tells,
//
//	|eps|^2 = (1 - g2)/(2 nd g2)   of |H|, and the same of its phase in rad
//
// nd is the number of independent segments. It is less exact than the local
// fits, because the window smears a resonance, but it needs no more than a few
// segments of signal: it is used where a recording is too short for them. The
// tests hold the two against each other. Theory (6.7).
//
// Source: Welch, IEEE Trans. Audio Electroacoust. 15, 1967; Bendat and Piersol,
// Random Data (from memory).
func WelchPoints(low [2]lowRate) []Point {
	n := min(len(low[0].Samples), len(low[1].Samples))
	size := dsp.Smooth5Below(min(n/4, int(4*low[0].Rate)))
	if size < 32 || n < 4*size {
		return nil
	}
	// Both libraries have symmetric windows only; the periodic one is a point shorter.
	taper := window.Hann(size + 1)[:size]
	a := spectral.Segment(low[0].Samples[:n], size, size/2)
	b := spectral.Segment(low[1].Samples[:n], size, size/2)
	bins := size / 2
	xx, yy, yx := make([]float64, bins), make([]float64, bins), make([]complex128, bins)
	for i := range a {
		x, y := fft.FFTReal(tapered(a[i], taper)), fft.FFTReal(tapered(b[i], taper))
		for k := range bins {
			xx[k] += dsp.SqAbs(x[k])
			yy[k] += dsp.SqAbs(y[k])
			yx[k] += y[k] * conj(x[k])
		}
	}
	// Hann segments that overlap by half have a correlation of 1/6 in amplitude,
	// so of their number 1/(1 + 2/36) are independent (Welch 1967).
	nd := float64(len(a)) * 18 / 19
	sure := max(0.5, 1-math.Pow(chance, 1/(nd-1)))
	strongest := 0.0
	binHz := low[0].Rate / float64(size)
	for k := 1; k < bins; k++ {
		strongest = max(strongest, xx[k]*float64(k))
	}
	var points []Point
	var heard, shared float64 // power of channel 1: all of it, and what channel 2 knows of
	for k := max(2, int(math.Ceil(LowestHz/binHz))); k < int(Usable*2*float64(bins)); k++ {
		if !(xx[k]*float64(k) > 0.01*strongest) {
			continue
		}
		heard += xx[k]
		g2 := min(coherence(xx[k], yy[k], yx[k]), 1-1e-12)
		eps := randomError(g2, nd)
		if h := yx[k] / complex(xx[k], 0); g2 > sure {
			shared += xx[k]
			// eps is that of size and of phase, so the complex ratio has twice its square.
			points = append(points, Point{Freq: float64(k) * binHz, Ratio: h, Gain: 1, noise: 2 * eps * eps * dsp.SqAbs(h), dof: len(a)})
		}
	}
	if shared < heard/2 {
		return nil // what is related is not the signal
	}
	return points
}

// chance is how often two unrelated noises may show the coherence that counts
// as a relation, at one frequency: P(g2 > t) = (1-t)^(nd-1) for them.
//
// Source: Carter, Knapp, Nuttall, IEEE Trans. Audio Electroacoust. 21, 1973
// (from memory).
const chance = 1e-6

// coherence returns |Syx|^2/(Sxx Syy), between 0 and 1.
func coherence(xx, yy float64, yx complex128) float64 {
	if xx == 0 || yy == 0 {
		return 0
	}
	return dsp.SqAbs(yx) / (xx * yy)
}

// randomError returns the standard deviation of |H| relative to |H|, and of its
// phase in rad, for the coherence g2 over nd independent segments.
func randomError(g2, nd float64) float64 { return math.Sqrt((1 - g2) / (2 * nd * g2)) }

func tapered(x, taper []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = x[i] * taper[i]
	}
	return out
}
