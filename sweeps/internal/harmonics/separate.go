package harmonics

import (
	"math"
	"math/cmplx"

	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/floats"
)

// separated is a signal divided by the sweep that caused it: what order n makes arrives L ln n before time zero,
// and noise everywhere.
//
//	n phi(t) = phi(t + L ln n),     S(f) = sqrt(L/f)/2 exp( j 2 pi f (L (1 - ln f) - at) - j pi/4 )
//
// Source: Farina, AES 108th convention, 2000 (first page read), and Novak, Lotton, Simon, J. Audio Eng. Soc. 63(10), 2015
// (abstract and the authors' summary read); S by stationary phase.
type separated struct {
	sweep
	rate float64
	h    []float64 // of time, circular
}

// apart divides by the sweep: what channel 2 has beyond the ratio h times channel 1, and channel 1. Both come at the lowest
// rate that holds what the filters leave of samples at rate (Hz).
func (s sweep) apart(x, y []float64, rate float64, h curve) (own, first separated) {
	n := dsp.Smooth5(len(x))
	m := dsp.Smooth5(int(2 * spectra.Usable * float64(n)))
	step, lower := rate/float64(n), rate*float64(m)/float64(n) // Hz
	var samples [2][]float64
	var spectrum [2][]complex128
	spectra.Both(func(c int) {
		all := [2][]float64{x, y}[c]
		samples[c] = make([]float64, n)
		copy(samples[c], all)
		floats.AddConst(-floats.Sum(all)/float64(len(x)), samples[c][:len(x)])
		spectrum[c] = fourier.NewFFT(n).Coefficients(nil, samples[c])[:m/2+1]
	})
	scale := complex(1/(lower*float64(n)), 0) // of transforms that are not normalised
	for k, ratio := range h.along(step, m/2+1) {
		inverse := scale * s.inverse(float64(k)*step)
		spectrum[1][k] = inverse * (spectrum[1][k] - ratio*spectrum[0][k])
		spectrum[0][k] *= inverse
	}
	var apart [2]separated
	spectra.Both(func(c int) {
		apart[c] = separated{s, lower, fourier.NewFFT(m).Sequence(samples[c][:m], spectrum[c])}
	})
	return apart[1], apart[0]
}

// inverse returns 1/S at f (Hz); nothing is left at 0.
func (s sweep) inverse(f float64) complex128 {
	if f == 0 {
		return 0
	}
	return cmplx.Rect(2*math.Sqrt(f/s.l), math.Pi/4-2*math.Pi*f*(s.l*(1-math.Log(f))-s.at))
}

// Of the gap between two orders, a window takes this part on either side, the outer half of it fading.
const takes = 0.45

const (
	longestBefore = 0.25 // s that a window begins before its order
	longestAfter  = 0.8  // s that it lasts after it: the ringing of the driver
)

// window is what is cut out around an order.
type window struct {
	at     float64 // s, time zero of the order
	before float64 // s
	after  float64
}

// windowOf returns the window of order n.
func (s sweep) windowOf(n int) window {
	w := window{at: -s.l * math.Log(float64(n)), before: min(longestBefore, takes*s.l*math.Log(float64(n+1)/float64(n))), after: longestAfter}
	if n > 1 {
		w.after = min(w.after, takes*s.l*math.Log(float64(n)/float64(n-1)))
	}
	return w
}

// response is the spectrum of a window, with time zero where the order is.
type response struct {
	binHz float64
	bins  []complex128
	late  float64 // s by which the first bin's time zero is late
	power float64 // sum of squares of the window
}

// finer is how many times longer than its window a transform is, so that its bins can be interpolated.
const finer = 4

// cutter cuts windows of one length.
type cutter struct {
	before int // samples
	taper  []float64
	fft    *fourier.FFT
}

// cutter returns what cuts windows as long as w out of signals at rate (Hz).
func (w window) cutter(rate float64) cutter {
	before, after := int(w.before*rate), int(w.after*rate)
	c := cutter{before, make([]float64, before+after+1), fourier.NewFFT(dsp.Smooth5(finer * (before + after + 1)))}
	for k := range c.taper {
		i, reach := before-k, before
		if k > before {
			i, reach = k-before, after
		}
		c.taper[k] = 1
		if part := float64(i) / float64(max(1, reach)); part > 0.5 {
			c.taper[k] = 0.5 + 0.5*math.Cos(2*math.Pi*(part-0.5))
		}
	}
	return c
}

// cut returns the response of x in the window at the time at (s).
func (c cutter) cut(x separated, at float64) response {
	n, size := len(x.h), c.fft.Len()
	mid := int(math.Round(at * x.rate))
	buf := make([]float64, size)
	for k, g := range c.taper {
		i := k - c.before
		buf[(i+size)%size] = g * x.h[((mid+i)%n+n)%n]
	}
	return response{binHz: x.rate / float64(size), late: float64(mid)/x.rate - at,
		bins: c.fft.Coefficients(nil, buf), power: floats.Dot(c.taper, c.taper)}
}

// cut returns the response in a window.
func (x separated) cut(w window) response { return w.cutter(x.rate).cut(x, w.at) }

// at returns the response at f (Hz), by the polynomial through the four bins around it.
func (r response) at(f float64) complex128 {
	pos := f / r.binHz
	i := int(pos)
	if i < 1 || i+2 >= len(r.bins) {
		return 0
	}
	u := pos - float64(i)
	a, b, c, d := u+1, u, u-1, u-2
	w := [4]float64{-b * c * d / 6, a * c * d / 2, -a * b * d / 2, a * b * c / 6}
	var sum complex128
	for k, g := range w {
		sum += complex(g, 0) * r.bins[i-1+k]
	}
	return sum * cmplx.Rect(1, -2*math.Pi*f*r.late)
}
