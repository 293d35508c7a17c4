package verdict

import (
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/param"
)

// Decide applies the decision rule to a value y with the standard uncertainty u
// against lo and hi, all on one scale; s is the distribution behind u. Where u
// differs towards lower and higher values, each limit is met with the error bar that
// points to it.
//
// It returns the probability of conformity
//
//	p = F((hi-y)/u) - F((lo-y)/u)                              theory (5.1)
//
// and the verdict with a guard band of k u on both sides of each limit,
//
//	in spec      lo + k u <= y <= hi - k u
//	out of spec  y < lo - k u  or  y > hi + k u                theory (5.2)
//	undecided    otherwise
//
// with F(k) = (1+confidence)/2. The margin is the distance from y to the nearer
// limit in u, negative outside. So a driver that sits exactly on a limit, or
// beyond it, is called in spec in at most (1-confidence)/2 of all measurements:
// 2.5 % at the usual 95 %. The rule p >= confidence would not do: it allows 5 %.
//
// Source: JCGM 106:2012, 7.2 to 7.3 (probability of conformity) and 8.3 (guard
// bands); from memory, checked against its two worked examples in the tests.
func Decide(y float64, u param.Bars, lo, hi, confidence float64, s stat.Dist) (p, margin float64, v Verdict) {
	k := s.Quantile((1 + confidence) / 2)
	if u.Down == 0 || u.Up == 0 {
		if lo <= y && y <= hi {
			return 1, math.Inf(1), InSpec
		}
		return 0, math.Inf(-1), OutOfSpec
	}
	// Distance from y to x in the error bar that points there.
	to := func(x float64) float64 {
		if x < y {
			return (x - y) / u.Down
		}
		return (x - y) / u.Up
	}
	margin = math.Min(-to(lo), to(hi))
	p = s.Between(to(lo), to(hi))
	switch {
	case to(lo) <= -k && to(hi) >= k:
		v = InSpec
	case to(lo) > k || to(hi) < -k:
		v = OutOfSpec
	}
	return p, margin, v
}
