// Package dsp has the small pieces of signal arithmetic that the others share:
// resampling, filters that halve the rate, lengths that transform fast.
package dsp

import (
	"math"
	"slices"
)

// Median returns the middle value of x, which it does not change; NaN for none.
func Median(x []float64) float64 {
	if len(x) == 0 {
		return math.NaN()
	}
	s := slices.Clone(x)
	slices.Sort(s)
	return s[len(s)/2]
}

// SqAbs returns |z|^2.
func SqAbs(z complex128) float64 { return real(z)*real(z) + imag(z)*imag(z) }
