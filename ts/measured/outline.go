package measured

import (
	"math"
	"math/cmplx"
)

// Outline is what one looks at a curve for: the height and place of its peak.
type Outline struct {
	Re, Fs, Qms, Res float64 // ohm, Hz, 1, ohm
}

// OutlineOf reads a rough resonance off the curve: the most prominent peak, Re
// from the smallest value, Qms from the width where |Z| is the geometric mean of
// the two. It needs a curve that has passed CheckSweep.
func OutlineOf(z Impedance) Outline {
	mag := magnitudes(z)
	return outlineAt(z, mag, findPeaks(mag)[0].index)
}

func magnitudes(z Impedance) []float64 {
	mag := make([]float64, z.Len())
	for i, v := range z.Z {
		mag[i] = cmplx.Abs(v)
	}
	return mag
}

// outlineAt is OutlineOf for the peak of mag (ohm) with an index.
func outlineAt(z Impedance, mag []float64, top int) Outline {
	re := math.Inf(1)
	for i, v := range z.Z {
		if r := real(v); r > 0 && (i < top || z.Freq[i] < 20*z.Freq[top]) {
			re = min(re, r)
		}
	}
	zmax := mag[top]
	re = min(re, 0.9*zmax)
	level := math.Sqrt(re * zmax)
	o := Outline{Re: re, Fs: z.Freq[top], Res: zmax - re}
	lo, hi := top, top
	for lo > 0 && mag[lo] > level {
		lo--
	}
	for hi+1 < len(mag) && mag[hi] > level {
		hi++
	}
	width := z.Freq[hi] - z.Freq[lo]
	o.Qms = math.Sqrt(zmax/re) * o.Fs / max(width, 0.02*o.Fs)
	return o
}

// motional returns the motional impedance (ohm) at f (Hz) without creep.
func (o Outline) motional(f float64) complex128 {
	return complex(o.Res, 0) / complex(1, o.Qms*(f/o.Fs-o.Fs/f))
}

// CoilPart returns a rough coil impedance of a sweep: what is left when Re and
// the resonance are taken away, where the coil counts; zero elsewhere. Without
// phase it is the reactance that |Z| above Re asks for.
func (o Outline) CoilPart(z Impedance) []complex128 {
	zl := make([]complex128, z.Len())
	for i, f := range z.Freq {
		if f < 2.5*o.Fs {
			continue
		}
		if z.MagnitudeOnly {
			m := real(z.Z[i])
			x := math.Sqrt(max(0, m*m-o.Re*o.Re)) + min(0, imag(o.motional(f)))
			zl[i] = complex(0, max(0, x))
			continue
		}
		v := z.Z[i] - complex(o.Re, 0) - o.motional(f)
		zl[i] = complex(max(0, real(v)), imag(v))
	}
	return zl
}
