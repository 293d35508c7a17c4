package measured

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"
)

// Peak is a local maximum of |Z|.
type Peak struct {
	Freq, Size float64 // Hz, ohm
	Prominence float64 // logarithm of the height above the higher of the two valleys beside it
}

// Peaks returns the local maxima of |Z|, the most prominent first.
func Peaks(z Impedance) []Peak {
	mag := make([]float64, z.Len())
	for i, v := range z.Z {
		mag[i] = cmplx.Abs(v)
	}
	var out []Peak
	for _, p := range findPeaks(mag) {
		out = append(out, Peak{z.Freq[p.index], mag[p.index], p.prominence})
	}
	return out
}

// peak is a local maximum of |Z|.
type peak struct {
	index      int
	prominence float64 // logarithm of the height above the higher of the two valleys beside it
}

// findPeaks returns the local maxima of mag, the most prominent first. A valley
// reaches from the maximum to the next higher point or the end of the sweep.
func findPeaks(mag []float64) []peak {
	var peaks []peak
	for i := 1; i+1 < len(mag); i++ {
		if mag[i] <= mag[i-1] || mag[i] < mag[i+1] {
			continue
		}
		left, right := mag[i], mag[i]
		for j := i - 1; j >= 0 && mag[j] <= mag[i]; j-- {
			left = min(left, mag[j])
		}
		for j := i + 1; j < len(mag) && mag[j] <= mag[i]; j++ {
			right = min(right, mag[j])
		}
		peaks = append(peaks, peak{i, math.Log(mag[i] / max(left, right))})
	}
	slices.SortFunc(peaks, func(a, b peak) int { return cmp.Compare(b.prominence, a.prominence) })
	return peaks
}
