package stat

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"
)

// ChiSquare returns the x below which a chi-square variable has the probability
// p, divided by the degrees of freedom: 1 for infinitely many. Real-valued degrees
// of freedom are taken as they are.
//
// The search runs over ln x, since limits of a variance that rests on less than one
// degree of freedom lie many powers of ten apart.
func ChiSquare(p, dof float64) float64 {
	if math.IsInf(dof, 1) {
		return 1
	}
	d := distuv.ChiSquared{K: dof}
	below := func(x float64) bool { return d.CDF(x) < p }
	if p > 0.5 {
		below = func(x float64) bool { return d.Survival(x) > 1-p }
	}
	return searchLog(below) / dof
}

// searchLog returns the positive x at which below turns from true to false.
func searchLog(below func(x float64) bool) float64 {
	lo, hi := -700., 700.
	for range 62 {
		mid := (lo + hi) / 2
		if below(math.Exp(mid)) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return math.Exp((lo + hi) / 2)
}

// Fisher returns the x below which the ratio of two mean squares with d1 and d2
// degrees of freedom and equal expectations has the probability p.
func Fisher(p, d1, d2 float64) float64 {
	switch {
	case math.IsInf(d2, 1):
		return ChiSquare(p, d1)
	case math.IsInf(d1, 1):
		return 1 / ChiSquare(1-p, d2)
	}
	if p > 0.5 { // from the tail that has the digits
		return 1 / Fisher(1-p, d2, d1)
	}
	return searchLog(func(x float64) bool { return fisherBelow(x, d1, d2) < p })
}

// FisherTails returns the probability that the ratio of Fisher lies below x, and
// that it lies above.
func FisherTails(x, d1, d2 float64) (below, above float64) {
	switch {
	case math.IsInf(d1, 1) && math.IsInf(d2, 1):
		if x < 1 {
			return 0, 1
		}
		return 1, 0
	case math.IsInf(d2, 1):
		d := distuv.ChiSquared{K: d1}
		return d.CDF(x * d1), d.Survival(x * d1)
	case math.IsInf(d1, 1):
		above, below = FisherTails(1/x, d2, d1)
		return below, above
	}
	return fisherBelow(x, d1, d2), fisherBelow(1/x, d2, d1)
}

func fisherBelow(x, d1, d2 float64) float64 {
	if x <= 0 {
		return 0
	}
	if math.IsInf(x, 1) {
		return 1
	}
	return distuv.F{D1: d1, D2: d2}.CDF(x)
}
