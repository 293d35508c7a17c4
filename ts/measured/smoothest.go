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
	lines := make([]float64, max(n, len(logs)))
	fits, r := false, 0.0
	for i := -stepTries; i <= stepTries; i++ {
		d := comb{step: c.step * (1 + stepDoubt*float64(i)/stepTries), shift: c.shift}
		moved := false // most steps differ too little to move a row
		for row := range lines {
			if k := d.line(z.Freq[row]); k != lines[row] {
				lines[row], moved = k, true
			}
		}
		if moved {
			if fits = z.off(d, n, most) <= most; fits {
				r = roughness(lines[:len(logs)], logs)
			}
		}
		if fits {
			steps, rough = append(steps, d.step), append(rough, r)
		}
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
	const size = 5
	var at [size]int // the rows of the last lines
	count := 0
	for i, k := range lines {
		if i > 0 && k == lines[i-1] {
			continue
		}
		copy(at[:], at[1:])
		at[size-1] = i
		if count++; count < size {
			continue
		}
		middle := lines[at[2]]
		a, b, c, d := lines[at[0]]-middle, lines[at[1]]-middle, lines[at[3]]-middle, lines[at[4]]-middle
		off := logs[at[2]] - times(share(a, b, c, d), logs[at[0]]) - times(share(b, a, c, d), logs[at[1]]) -
			times(share(c, a, b, d), logs[at[3]]) - times(share(d, a, b, c), logs[at[4]])
		sum += real(off)*real(off) + imag(off)*imag(off)
	}
	return sum
}

// share is how much the value at x counts at 0 in the cubic through it and those at a, b and c.
func share(x, a, b, c float64) float64 { return a * b * c / ((a - x) * (b - x) * (c - x)) }

func times(by float64, z complex128) complex128 { return complex(by*real(z), by*imag(z)) }
