package study

import (
	"math"

	gonum "gonum.org/v1/gonum/stat"
	"gonum.org/v1/gonum/stat/distuv"

	"conewright/ts/internal/stat"
)

// Interval returns the interval of the variance of one level, by the first of these that
// fits:
//
//   - with priors, that of Spread;
//   - the readings themselves: chi-square of their mean square, exact;
//   - balanced data: the modified large sample method, theory (8.5);
//   - groups of readings of one driver: Thomas and Hultquist, theory (8.10);
//   - otherwise the profile of the likelihood, theory (8.11).
func (n *Nested) Interval(level int, confidence float64) Interval {
	c, last := n.Components[level], len(n.Components)-1
	tail := (1 - confidence) / 2
	var out Interval
	switch {
	case n.hasPrior():
		return c.Spread.Interval(confidence)
	case level == last:
		out = Spread{c.MeanSquare, float64(c.Freedom)}.Interval(confidence)
	case n.data.balanced():
		out.Lo, out.Hi = stat.DifferenceLimits(n.square(level), n.square(level+1), tail)
		out.Lo, out.Hi = out.Lo/n.data.alike[level], out.Hi/n.data.alike[level]
	case last == 1 && len(n.data.drivers) == 1:
		out = n.harmonic(tail)
	default:
		out = n.profile(unit(last+1, level), float64(c.Freedom), confidence)
	}
	return out.around(c.Variance)
}

// around returns the interval without what is negative, and widened to hold the estimate: that can lie
// outside where other variances were cut off at 0.
func (i Interval) around(estimate float64) Interval {
	return Interval{min(estimate, max(0, i.Lo)), max(estimate, i.Hi)}
}

// TotalInterval returns the interval of the sum of all variances: with priors that of Spread,
// with balanced data as theory (8.6), otherwise the profile of the likelihood.
func (n *Nested) TotalInterval(confidence float64) Interval {
	last := len(n.Components) - 1
	switch {
	case n.hasPrior():
		return n.Total().Interval(confidence)
	case !n.data.balanced():
		return n.profile(ones(last+1), n.Total().Dof, confidence)
	}
	squares, weights := make([]stat.MeanSquare, last+1), ones(last+1)
	for k := range squares {
		squares[k] = n.square(k)
	}
	for k, size := range n.data.alike {
		weights[k] = 1 / size
		if k > 0 {
			weights[k] -= 1 / n.data.alike[k-1]
		}
	}
	if last > 0 {
		weights[last] -= 1 / n.data.alike[last-1]
	}
	lo, hi := stat.SumLimits(squares, weights, (1-confidence)/2)
	return Interval{lo, hi}.around(n.Total().Variance)
}

func (n *Nested) hasPrior() bool {
	for _, p := range n.priors {
		if p.Dof > 0 {
			return true
		}
	}
	return false
}

func (n *Nested) square(level int) stat.MeanSquare {
	return stat.MeanSquare{Value: n.Components[level].MeanSquare, Dof: float64(n.Components[level].Freedom)}
}

// harmonic returns the limits for groups of unequal size, with the limits of Williams
// and Tukey for equal ones:
//
//	J = harmonic mean of the sizes,   S1 = J times the variance of the means of the groups
//	L = d1 (S1 - S2 F(1-tail, d1, d2))/(J chi2(1-tail, d1)),   U likewise with tail
//
// Source: Thomas and Hultquist, Ann. Stat. 6, 1978 (abstract read, form from memory); Williams,
// Biometrika 49, 1962 (from memory). Theory (8.10).
func (n *Nested) harmonic(tail float64) Interval {
	size := gonum.HarmonicMean(n.data.count, nil)
	s1, s2 := size*gonum.Variance(n.data.mean, nil), n.Components[1].MeanSquare
	d1, d2 := float64(n.Components[0].Freedom), float64(n.Components[1].Freedom)
	limit := func(p float64) float64 {
		return (s1 - s2*stat.Fisher(p, d1, d2)) / (size * stat.ChiSquare(p, d1))
	}
	return Interval{limit(1 - tail), limit(tail)}
}

// profile returns the interval of weights times the variances that holds every value which
// the likelihood, greatest over everything else, makes less worse than its best by
//
//	below the estimate:  chi2(confidence, 1)
//	above it:            nu (c - 1 - ln c),   c = chi2(tail, nu)/nu
//
// The second is what makes the upper limit exact where a mean square with nu degrees of
// freedom is all that the data have; chi2(confidence, 1) alone missed from above up to 7 times
// in 100. Source: profile likelihood, textbook; second line derived, both held against simulated
// coverage.
func (n *Nested) profile(weights []float64, nu, confidence float64) Interval {
	inside := func(value float64) bool { return n.plausible(weights, nu, confidence, value) }
	best := n.sum(weights).Variance
	var out Interval
	if best > 0 && !inside(0) {
		out.Lo = bisect(0, best, func(x float64) bool { return !inside(x) })
	}
	hi := max(2*best, n.Total().Variance)
	for inside(hi) {
		hi *= 4
	}
	out.Hi = bisect(best, hi, inside)
	return out
}

// plausible says whether a value lies in the interval of profile.
func (n *Nested) plausible(weights []float64, nu, confidence, value float64) bool {
	limit := distuv.ChiSquared{K: 1}.Quantile(confidence)
	if value > n.sum(weights).Variance {
		c := stat.ChiSquare((1-confidence)/2, nu)
		limit = nu * (c - 1 - math.Log(c))
	}
	return n.deviance(weights, value) <= limit
}

// deviance is by how much -2 ln L grows when weights times the variances must have a value.
func (n *Nested) deviance(weights []float64, value float64) float64 {
	start := make([]float64, len(n.state.v))
	var held float64
	for k, v := range n.state.v {
		start[k] = max(v, 1e-3*n.Total().Variance)
		held += weights[k] * start[k]
	}
	for k := range start {
		if weights[k] > 0 {
			start[k] *= value / held
		}
	}
	return n.data.maximise(start, n.priors, hold{weights, value}).fit - n.state.fit
}

// bisect returns where f turns from true to false between lo and hi.
func bisect(lo, hi float64, f func(float64) bool) float64 {
	for range 30 {
		if mid := (lo + hi) / 2; f(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2
}
