package ts

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// spread is the distribution of (true value - estimate)/u: normal, or Student's
// t where u itself rests on few degrees of freedom.
type spread struct{ dof float64 }

// spreadOf recovers the distribution from the factor between the standard
// uncertainty and the half-width of the 95 % interval: the degrees of freedom
// whose t(0.975) is that factor. A factor of 1.96, give or take its rounding, or less means normal.
func spreadOf(coverage float64) spread {
	const normal = 1.959963984540054
	if !(coverage > normal+1e-3) {
		return spread{math.Inf(1)}
	}
	lo, hi := math.Log(0.3), math.Log(1e7) // t(0.975) falls as the degrees grow
	for range 60 {
		mid := (lo + hi) / 2
		if (distuv.StudentsT{Sigma: 1, Nu: math.Exp(mid)}).CDF(coverage) > 0.975 {
			hi = mid
		} else {
			lo = mid
		}
	}
	return spread{math.Exp(hi)}
}

// cdf returns the probability below x.
func (s spread) cdf(x float64) float64 {
	switch {
	case math.IsInf(x, 1):
		return 1
	case math.IsInf(x, -1):
		return 0
	case math.IsInf(s.dof, 1):
		return distuv.UnitNormal.CDF(x)
	}
	return distuv.StudentsT{Sigma: 1, Nu: s.dof}.CDF(x)
}

// between returns the probability from a to b, both tails handled from the side
// where the digits are.
func (s spread) between(a, b float64) float64 {
	if !(a < b) {
		return 0
	}
	if a > 0 {
		a, b = -b, -a
	}
	return s.cdf(b) - s.cdf(a)
}

// quantile returns the x below which the probability is p.
func (s spread) quantile(p float64) float64 {
	if math.IsInf(s.dof, 1) {
		return distuv.UnitNormal.Quantile(p)
	}
	return distuv.StudentsT{Sigma: 1, Nu: s.dof}.Quantile(p)
}
