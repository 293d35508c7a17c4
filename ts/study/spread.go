package study

import (
	"math"

	"conewright/ts/internal/stat"
)

// Spread is a variance and how well it is known: as well as the mean square of Dof
// independent deviations. Dof need not be whole, and is infinite for a variance
// that is known exactly. The zero value says that nothing is known.
type Spread struct{ Variance, Dof float64 }

// Judged returns the spread of a standard deviation that is known by judgement only, with
// the relative standard uncertainty doubt: 1/(2 doubt^2) degrees of freedom, 2 for
// 50 %, 8 for 25 %.
//
// Source: JCGM 100:2008, G.4.2 (from memory).
func Judged(std, doubt float64) Spread {
	return Spread{std * std, 1 / (2 * doubt * doubt)}
}

// Std returns the standard deviation.
func (s Spread) Std() float64 { return math.Sqrt(s.Variance) }

// HalfWidth returns the half-width of the interval of an error with this spread,
// Student's t times the standard deviation: infinite without a degree of freedom.
func (s Spread) HalfWidth(confidence float64) float64 {
	switch {
	case s.Dof <= 0:
		return math.Inf(1)
	case s.Variance == 0:
		return 0
	}
	return stat.Dist{Dof: s.Dof}.Quantile((1+confidence)/2) * s.Std()
}

// Interval returns the interval of the variance itself:
//
//	nu s^2/chi2((1+confidence)/2, nu) .. nu s^2/chi2((1-confidence)/2, nu)
//
// Source: textbook. Theory (8.4).
func (s Spread) Interval(confidence float64) Interval {
	if s.Dof <= 0 {
		return Interval{0, math.Inf(1)}
	}
	tail := (1 - confidence) / 2
	return Interval{s.Variance / stat.ChiSquare(1-tail, s.Dof), s.Variance / stat.ChiSquare(tail, s.Dof)}
}

// known says whether the spread is one that can be counted with as a prior.
func (s Spread) known() bool {
	return s.Variance > 0 && s.Dof > 0 && !math.IsInf(s.Variance, 0) && !math.IsInf(s.Dof, 0)
}
