package dsp

import "math"

// Smooth5 returns the smallest even number of at least n that has no prime
// factor above 5: the lengths for which the transform is fast and exact.
func Smooth5(n int) int {
	best := math.MaxInt
	for p5 := 1; p5 < 2*n+2; p5 *= 5 {
		for p3 := p5; p3 < 2*n+2; p3 *= 3 {
			m := 2 * p3
			for m < n {
				m *= 2
			}
			best = min(best, m)
		}
	}
	return best
}

// Smooth5Below returns the largest even number of at most n (at least 2) that
// has no prime factor above 5.
func Smooth5Below(n int) int {
	best := 2
	for p5 := 1; 2*p5 <= n; p5 *= 5 {
		for p3 := p5; 2*p3 <= n; p3 *= 3 {
			m := 2 * p3
			for 2*m <= n {
				m *= 2
			}
			best = max(best, m)
		}
	}
	return best
}
