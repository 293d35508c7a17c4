// Package stat has the distribution of an error that is known with few degrees
// of freedom.
package stat

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// Dist is the distribution of (true value - estimate)/u: normal, or Student's
// t where u itself rests on few degrees of freedom.
type Dist struct{ Dof float64 }

// Of recovers the distribution from the factor between the standard
// uncertainty and the half-width of the 95 % interval: the degrees of freedom
// whose t(0.975) is that factor. A factor of 1.96, give or take its rounding, or less
// means normal.
func Of(coverage float64) Dist {
	const normal = 1.959963984540054
	if !(coverage > normal+1e-3) {
		return Dist{math.Inf(1)}
	}
	// t(0.975) rises with 1/dof, nearly in proportion: Cornish and Fisher's first term is where the search begins (handbook of
	// mathematical functions, 26.7.5, from memory). Secant steps inside a bracket.
	lo, hi := 1e-7, 1/0.3
	const slope = (normal*normal*normal + normal) / 4
	at := min(hi, max(lo, (coverage-normal)/slope))
	last, lastOff := 0.0, distuv.UnitNormal.CDF(coverage)-0.975
	for range 60 {
		off := distuv.StudentsT{Sigma: 1, Nu: 1 / at}.CDF(coverage) - 0.975
		if off > 0 {
			lo = at
		} else {
			hi = at
		}
		next := at - off*(at-last)/(off-lastOff)
		if !(next > lo && next < hi) {
			next = math.Sqrt(lo * hi)
		}
		if off == 0 || math.Abs(next-at) < 1e-10*at {
			return Dist{1 / next}
		}
		last, lastOff, at = at, off, next
	}
	return Dist{1 / at}
}

// Cdf returns the probability below x.
func (s Dist) Cdf(x float64) float64 {
	switch {
	case math.IsInf(x, 1):
		return 1
	case math.IsInf(x, -1):
		return 0
	case s.normal():
		return distuv.UnitNormal.CDF(x)
	}
	return distuv.StudentsT{Sigma: 1, Nu: s.Dof}.CDF(x)
}

// normal says whether the distribution is as good as normal: its quantiles differ by less than 1e-6.
func (s Dist) normal() bool { return s.Dof > 1e7 }

// Between returns the probability from a to b, both tails handled from the side
// where the digits are.
func (s Dist) Between(a, b float64) float64 {
	if !(a < b) {
		return 0
	}
	if a > 0 {
		a, b = -b, -a
	}
	return s.Cdf(b) - s.Cdf(a)
}

// Quantile returns the x below which the probability is p.
func (s Dist) Quantile(p float64) float64 {
	if s.normal() {
		return distuv.UnitNormal.Quantile(p)
	}
	t := distuv.StudentsT{Sigma: 1, Nu: s.Dof}
	if s.Dof < 3 || p < 0.001 || p > 0.999 {
		return t.Quantile(p)
	}
	// The first two terms of Cornish and Fisher (handbook of mathematical functions, 26.7.5, from memory). With many degrees of
	// freedom they are more exact than the Cdf; otherwise Newton's steps go on from there, in a fifth of the time of the general search.
	x := distuv.UnitNormal.Quantile(p)
	x += (x*x*x+x)/(4*s.Dof) + (5*x*x*x*x*x+16*x*x*x+3*x)/(96*s.Dof*s.Dof)
	if s.Dof > 1e5 {
		return x
	}
	for range 20 {
		step := (t.CDF(x) - p) / t.Prob(x)
		x -= step
		if math.Abs(step) <= 1e-9*math.Abs(x) { // the next one would be of the size of 1e-18
			return x
		}
	}
	return t.Quantile(p)
}

// Normal is the coverage factor of a normal distribution.
var Normal = distuv.UnitNormal.Quantile(1 - Tail)

// Tail is the probability beyond one end of a 95 % interval.
const Tail = 0.025

// Coverage returns the factor from a standard uncertainty to the half-width of
// the 95 % interval: the 97.5 % point of Student's t with the degrees of
// freedom given.
//
// Source: JCGM 100:2008, annex G (from memory).
func Coverage(dof float64) float64 {
	if math.IsInf(dof, 1) {
		return distuv.UnitNormal.Quantile(0.975)
	}
	return distuv.StudentsT{Mu: 0, Sigma: 1, Nu: max(dof, 1)}.Quantile(0.975)
}
