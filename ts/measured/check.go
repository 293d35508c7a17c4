package measured

import (
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/notice"
	"conewright/ts/param"
)

const (
	minPoints = 7
	// A peak lower than this over the higher of its two valleys, in logarithm of
	// |Z|, is not taken for a resonance.
	minPeak = 0.1
	// A second peak that rises this much, relative to the first and in logarithm
	// of |Z|, is a second resonance: a vented box, or two drivers in one sweep. A fit
	// is refused then, and so is the three-point method.
	secondPeak = 0.3
)

// CheckSweep refuses a sweep that a resonance cannot be read from, and says why.
func CheckSweep(z Impedance) error {
	refuse := func(code string, facts notice.Facts) error { return notice.New(code, facts).In(z.Source) }
	n := z.Len()
	if n < minPoints {
		return refuse("too-few-points", notice.Facts{"points": n, "least": minPoints})
	}
	mag := make([]float64, n)
	for i, v := range z.Z {
		mag[i] = cmplx.Abs(v)
		if !(mag[i] > 0) {
			return refuse("zero-impedance", notice.Facts{"frequency": z.Freq[i]})
		}
	}
	from, to := z.Freq[0], z.Freq[n-1]
	peaks := findPeaks(mag)
	if len(peaks) == 0 || peaks[0].prominence < minPeak {
		if slices.Max(mag) == mag[0] && mag[0] > 1.3*slices.Min(mag) {
			return refuse("starts-above-resonance", notice.Facts{"from": from})
		}
		return refuse("no-peak", notice.Facts{"from": from, "to": to, "rising": slices.Min(mag) == mag[0] && slices.Max(mag) == mag[n-1]})
	}
	if len(peaks) > 1 && peaks[1].prominence > secondPeak*peaks[0].prominence {
		a, b := z.Freq[peaks[0].index], z.Freq[peaks[1].index]
		return refuse("two-peaks", notice.Facts{"lower": min(a, b), "upper": max(a, b)})
	}
	top := peaks[0].index
	lowest := slices.Min(mag)
	level := math.Sqrt(lowest * mag[top])
	at := z.Freq[top]
	if slices.Min(mag[:top+1]) > level {
		return refuse("starts-above-f1", notice.Facts{"from": from, "peak": at, "level": level})
	}
	if slices.Min(mag[top:]) > level {
		return refuse("ends-below-f2", notice.Facts{"to": to, "peak": at, "level": level})
	}
	if end := mag[n-1]; end == slices.Min(mag[top:]) && end > 1.3*lowest {
		return refuse("no-minimum", notice.Facts{"to": to, "peak": at})
	}
	return nil
}

// CheckValues refuses values that no driver has: they come from wrong wiring,
// swapped channels or a wrong resistor. The limits lie far outside of those of
// published data sheets.
func CheckValues(p param.Parameters) error {
	for _, limit := range []struct {
		id     param.ID
		lo, hi float64
	}{{param.Re, 0.1, 5000}, {param.Qms, 0.1, 100}, {param.Qes, 0.02, 20}} {
		if e, ok := p.Get(limit.id); ok && (e.Value < limit.lo || e.Value > limit.hi) {
			return notice.New("absurd-value", notice.Facts{"quantity": limit.id, "value": e.Value})
		}
	}
	return nil
}
