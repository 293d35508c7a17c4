package estimate

import (
	"math"
	"math/cmplx"
)

// Programs that write tables average magnitude and phase over a part of an octave, which widens the peak. A curve that was smoothed is
// compared with a model that is smoothed alike.

// smoothings are the widths (octaves) that are tried: those that programs offer and that leave a peak of its own.
var smoothings = []float64{1. / 48, 1. / 24, 1. / 12}

// smoothReach is how far from the resonance a model is smoothed, as a logarithm of frequency: beyond an octave
// curves are straight over the widths.
const smoothReach = math.Ln2

// smoothNodes are the places in a window of the width 2, and their weights, at which magnitude and phase are averaged
// (Gauss and Legendre, textbook), the middle first.
var smoothNodes = [5][2]float64{
	{0, 0.5688888888888889 / 2}, {-0.9061798459386640, 0.2369268850561891 / 2}, {-0.5384693101056831, 0.4786286704993665 / 2},
	{0.5384693101056831, 0.4786286704993665 / 2}, {0.9061798459386640, 0.2369268850561891 / 2},
}

// smoothWindow returns the places in a window of width octaves.
func smoothWindow(width float64) (window [len(smoothNodes)]shift) {
	for k, node := range smoothNodes {
		ln := node[0] * width / 2 * math.Ln2
		window[k] = shift{ln, math.Exp(ln)}
	}
	return window
}

// smoothed returns the impedance (ohm) of point i with magnitude and phase averaged over a window. With derivatives it
// sets dz.
func (e *evaluation) smoothed(i int, window *[len(smoothNodes)]shift, derivatives bool) complex128 {
	var middle complex128
	var size, turn float64
	e.mem.sum = grown(e.mem.sum, len(e.dz))
	sum := e.mem.sum // derivatives of size over size, and of turn
	clear(sum)
	for k, node := range smoothNodes {
		z := e.point(i, window[k], derivatives)
		a := cmplx.Abs(z)
		size += node[1] * a
		if k == 0 {
			middle = z
		} else {
			turn += node[1] * cmplx.Phase(z*cmplx.Conj(middle))
		}
		if derivatives {
			per := inverse(z)
			for j, d := range e.dz {
				d *= per // of the logarithm of z
				sum[j] += complex(node[1]*a*real(d), node[1]*imag(d))
			}
		}
	}
	z := times(size/cmplx.Abs(middle), middle) * cmplx.Rect(1, turn)
	if derivatives {
		for j, d := range sum {
			e.dz[j] = z * complex(real(d)/size, imag(d))
		}
	}
	return z
}
