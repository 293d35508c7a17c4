package ts

import (
	"math"
	"math/cmplx"
)

// outline is what one looks at a curve for: the height and place of its peak.
type outline struct {
	re, fs, qms, res float64 // ohm, Hz, 1, ohm
}

// outlineOf reads a rough resonance off the curve: the most prominent peak, Re
// from the smallest value, Qms from the width where |Z| is the geometric mean of
// the two. It needs a curve that has passed checkSweep.
func outlineOf(z Impedance) outline {
	mag := make([]float64, z.Len())
	for i, v := range z.Z {
		mag[i] = cmplx.Abs(v)
	}
	top := findPeaks(mag)[0].index
	re := math.Inf(1)
	for i, v := range z.Z {
		if r := real(v); r > 0 && (i < top || z.Freq[i] < 20*z.Freq[top]) {
			re = min(re, r)
		}
	}
	zmax := mag[top]
	re = min(re, 0.9*zmax)
	level := math.Sqrt(re * zmax)
	o := outline{re: re, fs: z.Freq[top], res: zmax - re}
	lo, hi := top, top
	for lo > 0 && mag[lo] > level {
		lo--
	}
	for hi+1 < len(mag) && mag[hi] > level {
		hi++
	}
	width := z.Freq[hi] - z.Freq[lo]
	o.qms = math.Sqrt(zmax/re) * o.fs / max(width, 0.02*o.fs)
	return o
}

// motional returns the motional impedance (ohm) at f (Hz) without creep.
func (o outline) motional(f float64) complex128 {
	return complex(o.res, 0) / complex(1, o.qms*(f/o.fs-o.fs/f))
}

// coilPart returns a rough coil impedance of a sweep: what is left when Re and
// the resonance are taken away, where the coil counts; zero elsewhere. Without
// phase it is the reactance that |Z| above Re asks for.
func (o outline) coilPart(z Impedance) []complex128 {
	zl := make([]complex128, z.Len())
	for i, f := range z.Freq {
		if f < 2.5*o.fs {
			continue
		}
		if z.MagnitudeOnly {
			m := real(z.Z[i])
			x := math.Sqrt(max(0, m*m-o.re*o.re)) + min(0, imag(o.motional(f)))
			zl[i] = complex(0, max(0, x))
			continue
		}
		v := z.Z[i] - complex(o.re, 0) - o.motional(f)
		zl[i] = complex(max(0, real(v)), imag(v))
	}
	return zl
}
