package measured

import (
	"math"
	"math/cmplx"
	"slices"
)

// Hand is the result of the three-point method.
type Hand struct {
	Valid                 bool
	Re, Fs, Qms, Qes, Qts float64 // ohm, Hz, 1
	F1, F2, Zmax          float64 // Hz, Hz, ohm
	Reason                string  // why it is not valid, a code
}

// HandMethod finds Re, Fs and the Q values the way they are found with a
// generator, a meter and a pencil: the peak, and the two frequencies f1 and f2
// on its flanks where |Z| is the geometric mean of Re and the peak, theory (1.9):
//
//	r0 = Zmax/Re     Fs = sqrt(f1 f2)
//	Qms = Fs sqrt(r0)/(f2 - f1)     Qes = Qms/(r0 - 1)     Qts = Qms/r0
//
// Re is taken from the lowest octave of the sweep, corrected for what the
// resonance still adds there. The method is exact without inductance and for
// one resonance. Inductance shifts it: by 1 % for a usual woofer, by 8 % in Qes
// for a low, wide peak. It serves as a start and as a cross-check, not as the
// answer.
//
// The result is not valid, with the reason as a code, when the sweep has no peak,
// has two of similar size, or does not cover f1 and f2.
//
// Source: Small, J. Audio Eng. Soc. 20(5), 1972, by way of university course
// notes (read).
func HandMethod(z Impedance) Hand { return HandMethodWith(z, 0) }

// HandMethodWith is HandMethod with a known Re in ohm; 0 takes it from the sweep.
func HandMethodWith(z Impedance, re float64) Hand {
	h, reason := handPoints(z, re)
	h.Valid, h.Reason = reason == "", reason
	return h
}

func handPoints(z Impedance, known float64) (Hand, string) {
	if z.Len() < minPoints {
		return Hand{}, "too-few-points"
	}
	if z.Check() != nil || !(known >= 0) || math.IsInf(known, 0) {
		return Hand{}, "no-sweep"
	}
	x := make([]float64, z.Len())   // ln f
	mag := make([]float64, z.Len()) // |Z|, ohm
	for i, f := range z.Freq {
		x[i], mag[i] = math.Log(f), cmplx.Abs(z.Z[i])
		if !(mag[i] > 0) {
			return Hand{}, "zero-impedance"
		}
	}
	peaks := findPeaks(mag)
	switch {
	case len(peaks) == 0:
		return Hand{}, "no-peak"
	case len(peaks) > 1 && peaks[1].prominence > secondPeak*peaks[0].prominence:
		return Hand{}, "two-peaks"
	}
	top := peaks[0].index
	zmax := topOfPeak(x, mag, top)

	h := Hand{Zmax: zmax, Re: known}
	if known == 0 {
		h.Re = slices.Min(mag[:top])
	}
	// The level depends on Re, and Re, when it comes from the low end, on the
	// peak found with that level. The two settle quickly: far below resonance
	// the correction is small.
	for range 100 {
		if h.Re >= zmax {
			return Hand{}, "peak-below-re"
		}
		level := math.Sqrt(h.Re * zmax)
		var ok bool
		if h.F1, ok = crossing(x, mag, level, top, -1); !ok {
			return Hand{}, "starts-above-f1"
		}
		if h.F2, ok = crossing(x, mag, level, top, +1); !ok {
			return Hand{}, "ends-below-f2"
		}
		h.Fs = math.Sqrt(h.F1 * h.F2)
		r0 := zmax / h.Re
		h.Qms = QmsAtLevel(r0, math.Sqrt(r0), h.Fs, h.F2-h.F1)
		h.Qes = h.Qms / (r0 - 1)
		h.Qts = h.Qms / r0
		if known != 0 {
			return h, ""
		}
		before := h.Re
		h.Re = lowEndRe(z, h)
		if math.Abs(h.Re-before) <= 1e-10*h.Re {
			return h, ""
		}
	}
	return Hand{}, "no-re"
}

// QmsAtLevel returns Qms from the width f2 - f1 (Hz) of the peak where
// |Z| = rho Re, 1 < rho < r0, r0 = Zmax/Re, theory (1.8):
//
//	Qms = fs/(f2 - f1) sqrt( (r0^2 - rho^2)/(rho^2 - 1) )
//
// Exact for any rho when there is no inductance. Derived from theory (1.10).
func QmsAtLevel(r0, rho, fs, width float64) float64 {
	return fs / width * math.Sqrt((r0*r0-rho*rho)/(rho*rho-1))
}

// lowEndRe returns Re in ohm from the lowest octave of the sweep: the measured
// values over what the resonance found so far adds to Re there, theory (1.10),
// without inductance. With phase the real part is used, which an inductance
// does not touch.
func lowEndRe(z Impedance, h Hand) float64 {
	r0 := h.Zmax / h.Re
	var all []float64
	for i, f := range z.Freq {
		if f > h.F1 || f > 2*z.Freq[0] {
			break
		}
		qv := h.Qms * (f/h.Fs - h.Fs/f)
		if z.MagnitudeOnly {
			all = append(all, real(z.Z[i])/math.Sqrt((r0*r0+qv*qv)/(1+qv*qv)))
		} else {
			all = append(all, real(z.Z[i])/(1+(r0-1)/(1+qv*qv)))
		}
	}
	slices.Sort(all)
	return (all[(len(all)-1)/2] + all[len(all)/2]) / 2
}

// topOfPeak returns the height of a peak in ohm: the vertex of a parabola in
// ln f through the points near the top, by least squares when there are more
// than three. The parabola is laid through 1/|Z|^2, which for a resonance is
// much closer to one than |Z| itself. Falls back to the highest point when the
// points do not form a peak.
func topOfPeak(x, mag []float64, top int) float64 {
	lo, hi := top-1, top+1
	for lo > 0 && mag[lo-1] > 0.985*mag[top] {
		lo--
	}
	for hi+1 < len(mag) && mag[hi+1] > 0.985*mag[top] {
		hi++
	}
	// Normal equations of a + b u + c u^2, u = x - x[top]: three unknowns of
	// similar size after scaling u by the width of the window.
	width := x[hi] - x[lo]
	var s [5]float64
	var t [3]float64
	for i := lo; i <= hi; i++ {
		u := (x[i] - x[top]) / width
		p := 1.0
		for k := range s {
			s[k] += p
			if k < len(t) {
				t[k] += p / (mag[i] * mag[i])
			}
			p *= u
		}
	}
	det := func(a, b, c, d, e, f, g, h, i float64) float64 {
		return a*(e*i-f*h) - b*(d*i-f*g) + c*(d*h-e*g)
	}
	d := det(s[0], s[1], s[2], s[1], s[2], s[3], s[2], s[3], s[4])
	a := det(t[0], s[1], s[2], t[1], s[2], s[3], t[2], s[3], s[4]) / d
	b := det(s[0], t[0], s[2], s[1], t[1], s[3], s[2], t[2], s[4]) / d
	c := det(s[0], s[1], t[0], s[1], s[2], t[1], s[2], s[3], t[2]) / d
	if vertex := a - b*b/(4*c); c > 0 && vertex > 0 {
		return 1 / math.Sqrt(vertex)
	}
	return mag[top]
}

// crossing returns the frequency in Hz where |Z| first falls to level when one
// walks from the peak in direction step, by interpolation of ln |Z| in ln f.
func crossing(x, mag []float64, level float64, top, step int) (float64, bool) {
	for i := top + step; i >= 0 && i < len(mag); i += step {
		if mag[i] > level {
			continue
		}
		j := i - step
		t := math.Log(level/mag[i]) / math.Log(mag[j]/mag[i])
		return math.Exp(x[i] + t*(x[j]-x[i])), true
	}
	return 0, false
}
