package harmonics

import (
	"math"
	"math/cmplx"

	"conewright/sweeps/internal/dsp"

	"gonum.org/v1/gonum/dsp/fourier"
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

// separate divides the signal with the spectrum y, at rate (Hz), by the sweep; it changes y.
func (s sweep) separate(y []complex128, rate float64, inverse []complex128, fft *fourier.FFT) separated {
	for k := range y {
		y[k] *= inverse[k]
	}
	return separated{s, rate, fft.Sequence(nil, y)}
}

// inverse returns 1/S at the bins of a transform of n samples at rate (Hz), for a transform that is not normalised.
func (s sweep) inverse(n int, rate float64) []complex128 {
	out := make([]complex128, n/2+1)
	scale := 2 / (math.Sqrt(s.l) * rate * float64(n))
	for k := 1; k < len(out); k++ {
		f := float64(k) * rate / float64(n)
		out[k] = cmplx.Rect(scale*math.Sqrt(f), math.Pi/4-2*math.Pi*f*(s.l*(1-math.Log(f))-s.at))
	}
	return out
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

// cut returns the response in a window.
func (x separated) cut(w window) response {
	n := len(x.h)
	mid := int(math.Round(w.at * x.rate))
	before, after := int(w.before*x.rate), int(w.after*x.rate)
	size := dsp.Smooth5(finer * (before + after + 1))
	buf := make([]float64, size)
	r := response{binHz: x.rate / float64(size), late: float64(mid)/x.rate - w.at}
	for i := -before; i <= after; i++ {
		reach := before
		if i > 0 {
			reach = after
		}
		g := 1.0
		if part := math.Abs(float64(i)) / float64(max(1, reach)); part > 0.5 {
			g = 0.5 + 0.5*math.Cos(2*math.Pi*(part-0.5))
		}
		r.power += g * g
		buf[(i+size)%size] = g * x.h[((mid+i)%n+n)%n]
	}
	r.bins = fourier.NewFFT(size).Coefficients(nil, buf)
	return r
}

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
