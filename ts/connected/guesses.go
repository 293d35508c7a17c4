package connected

import (
	"math"
	"slices"

	"conewright/ts/measured"
)

// guesses are starts for the unknowns of a driver, and for those of a second resonance
// beside it, read off the curve.
func guesses(z measured.Impedance) (drivers, seconds [][]float64) {
	size := sizes(z)
	re := slices.Min(size)
	n := len(size)
	coil := math.Log(max(0.1*re, size[n-1]-re)) - 0.65*math.Log(z.Freq[n-1]/1000)
	peaks := measured.Peaks(z)
	if len(peaks) > 3 {
		peaks = peaks[:3]
	}
	if len(peaks) == 0 { // the top lies at or below the lowest frequency
		peaks = []measured.Peak{{Freq: z.Freq[0], Size: size[0]}}
	}
	for i, p := range peaks[:min(2, len(peaks))] {
		x := make([]float64, xMore)
		x[xRe], x[xCoil], x[xExponent] = math.Log(re), coil, 0
		copy(x[xF:], resonanceAt(z, size, re, p))
		drivers = append(drivers, x)
		if i == 0 {
			seconds = append(seconds, []float64{x[xF] + 1, 1, math.Log(re)}, []float64{x[xF] - 1, 1, math.Log(re)})
		}
	}
	for _, p := range peaks[1:] {
		seconds = append(seconds, resonanceAt(z, size, re, p))
	}
	return drivers, append(seconds, []float64{math.Log(0.7 * z.Freq[0]), 1, math.Log(2 * size[0])})
}

// resonanceAt guesses ln f, ln Q and ln R of a peak: its Q from the width where |Z| is
// the geometric mean of the peak and Re, see measured.QmsAtLevel.
func resonanceAt(z measured.Impedance, size []float64, re float64, p measured.Peak) []float64 {
	top, _ := slices.BinarySearch(z.Freq, p.Freq)
	level := math.Sqrt(re * p.Size)
	low, high := top, top
	for low > 0 && size[low] > level {
		low--
	}
	for high < len(size)-1 && size[high] > level {
		high++
	}
	r0 := max(1.05, p.Size/re)
	q := p.Freq / max(z.Freq[high]-z.Freq[low], 0.02*p.Freq) * math.Sqrt(r0)
	return []float64{math.Log(p.Freq), math.Log(min(50, max(0.5, q))), math.Log(max(0.05*re, p.Size-re))}
}
