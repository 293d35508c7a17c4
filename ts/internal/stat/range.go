package stat

import (
	"math"

	"gonum.org/v1/gonum/integrate/quad"
	"gonum.org/v1/gonum/stat/distuv"
)

// RangeOf returns expectation d2 and standard deviation d3 of the range of n
// standard normal values, n at least 2:
//
//	P(range < r) = n integral of phi(x) (Phi(x+r) - Phi(x))^(n-1) dx
//	d2 = integral of (1 - P) dr,   d2^2 + d3^2 = integral of 2 r (1 - P) dr
//
// Source: Tippett, Biometrika 17, 1925 (from memory); checked against published
// tables. Theory (8.17).
func RangeOf(n int) (d2, d3 float64) {
	const step, end = 1. / 8, 9.
	above := func(r float64) float64 {
		var p float64
		for x := -end - r; x <= end; x += step {
			p += distuv.UnitNormal.Prob(x) * math.Pow(Between(x, x+r), float64(n-1))
		}
		return max(0, 1-float64(n)*step*p)
	}
	const longest = 16
	at, weight := make([]float64, 80), make([]float64, 80)
	quad.Legendre{}.FixedLocations(at, weight, 0, longest)
	var square float64
	for i, r := range at {
		p := weight[i] * above(r)
		d2 += p
		square += 2 * r * p
	}
	return d2, math.Sqrt(square - d2*d2)
}

// Between returns the probability of a standard normal value between a and b, a
// below b, from the side where the digits are.
func Between(a, b float64) float64 { return Dist{math.Inf(1)}.Between(a, b) }

// C4 returns the expectation of the standard deviation of n normal values with
// the standard deviation 1, n = dof+1:
//
//	c4 = sqrt(2/dof) Gamma((dof+1)/2)/Gamma(dof/2)
//
// Source: textbook (from memory); checked against published tables.
func C4(dof float64) float64 {
	a, _ := math.Lgamma((dof + 1) / 2)
	b, _ := math.Lgamma(dof / 2)
	return math.Sqrt(2/dof) * math.Exp(a-b)
}
