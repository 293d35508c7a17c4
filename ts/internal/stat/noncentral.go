package stat

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// NoncentralT is the distribution of (Z + Delta)/s, Z normal and s^2 a mean
// square with Dof degrees of freedom and expectation 1.
type NoncentralT struct{ Dof, Delta float64 }

// Cdf returns the probability below t:
//
//	P = integral over s of Phi(t s - Delta) times the density of s
//
// by the trapezoidal rule over u = ln s, where the integrand is smooth and falls off
// on both sides, so that the rule converges faster than any power of its step. A
// series in Delta^2 would lose everything to underflow beyond Delta = 37, which
// capability indices of a hundred units reach.
//
// Source: definition.
func (d NoncentralT) Cdf(t float64) float64 {
	if math.IsInf(d.Dof, 1) {
		return distuv.UnitNormal.CDF(t - d.Delta)
	}
	n := d.Dof
	// The density of u relative to its peak at u = 0, about as wide as 1/sqrt(2n); Phi rises
	// where t s is near Delta, over 1/Delta in u.
	density := func(u float64) float64 { return math.Exp(n * (u - math.Expm1(2*u)/2)) }
	width := 1 / (math.Sqrt(2*n) + math.Abs(d.Delta) + 3)
	step := width / 6
	var sum, weight float64
	add := func(u float64) bool {
		w := density(u)
		weight += w
		sum += w * distuv.UnitNormal.CDF(t*math.Exp(u)-d.Delta)
		return w > 1e-18
	}
	add(0)
	for k := 1.; add(k * step); k++ {
	}
	for k := -1.; add(k * step); k-- {
	}
	return sum / weight
}

// Quantile returns the t below which the probability is p.
func (d NoncentralT) Quantile(p float64) float64 {
	lo, hi := d.Delta-1, d.Delta+1
	for step := 1.; d.Cdf(lo) > p; step *= 2 {
		lo -= step
	}
	for step := 1.; d.Cdf(hi) < p; step *= 2 {
		hi += step
	}
	for range 100 {
		mid := (lo + hi) / 2
		if mid <= lo || mid >= hi {
			break
		}
		if d.Cdf(mid) < p {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
