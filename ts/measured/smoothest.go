package measured

import (
	"math"
	"math/cmplx"
	"slices"
)

const (
	// stepDoubt is how far, relative, a step may lie from that which the held rows say at first sight; stepTries is how many steps are tried
	// on either side.
	stepDoubt, stepTries = 0.004, 200
	// mostLines is how many lines are looked at: with more, a line is no wider than what a curve has of a resonance.
	mostLines = 500
)

// smoothest returns the comb near c that puts the rows where the curve is smoothest, of those with which at most so many of the first n rows
// are off; false where there are none. At the hundredth line, where the peak of a woofer is, a step that is a thousandth off would give one
// row in ten to the line beside its own. Its step is the mean over those tried, each as likely as a curve with normal errors as large
// as what is rough about the smoothest makes it (textbook).
func (z Impedance) smoothest(c comb, n, most int) (best comb, ok bool) {
	var logs []complex128
	for i := 0; i < z.Len() && z.Freq[i] < mostLines*c.step; i++ {
		logs = append(logs, cmplx.Log(z.Z[i]))
	}
	var steps, rough []float64
	lines, before := make([]float64, len(logs)), make([]float64, len(logs))
	for i := -stepTries; i <= stepTries; i++ {
		d := comb{step: c.step * (1 + stepDoubt*float64(i)/stepTries), shift: c.shift}
		if z.off(d, n, most) > most {
			continue
		}
		for i := range lines {
			lines[i] = d.line(z.Freq[i])
		}
		r := 0.0
		if len(rough) > 0 && slices.Equal(lines, before) {
			r = rough[len(rough)-1] // most steps differ too little to move a row
		} else {
			r = roughness(lines, logs)
		}
		steps, rough = append(steps, d.step), append(rough, r)
		lines, before = before, lines
	}
	if len(steps) == 0 {
		return c, false
	}
	least := slices.Min(rough)
	sum, weight := 0.0, 0.0
	for i, r := range rough {
		w := math.Exp(-float64(len(logs)) * (r - least) / (2 * max(least, math.SmallestNonzeroFloat64)))
		sum += w * steps[i]
		weight += w
	}
	return comb{step: sum / weight, shift: c.shift}, true
}

// roughness is the sum of the squares by which the logarithm of a curve at the lines differs from the cubic through its
// neighbours, two on either side. Rows with the line of the row before count once. Source: interpolation after Lagrange, textbook.
func roughness(lines []float64, logs []complex128) (sum float64) {
	const size, middle = 5, 2
	var u [size]float64 // the last lines
	var v [size]complex128
	count := 0
	for i, k := range lines {
		if i > 0 && k == lines[i-1] {
			continue
		}
		copy(u[:], u[1:])
		copy(v[:], v[1:])
		u[size-1], v[size-1] = k, logs[i]
		if count++; count < size {
			continue
		}
		d := v[middle]
		for j := range u {
			if j == middle {
				continue
			}
			w := 1.0
			for m := range u {
				if m != j && m != middle {
					w *= (u[middle] - u[m]) / (u[j] - u[m])
				}
			}
			d -= complex(w*real(v[j]), w*imag(v[j]))
		}
		sum += real(d)*real(d) + imag(d)*imag(d)
	}
	return sum
}
