package process

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"conewright/ts/internal/stat"
	"conewright/ts/notice"
	"conewright/ts/study"
)

// Index is a capability index with its interval.
type Index struct {
	Known bool // false where a limit is missing
	Value float64
	study.Interval
}

// Capability compares the scatter of a process with its limits. Cp and Cpk count with
// the scatter within groups, Pp and Ppk with that of all units.
type Capability struct {
	Cp, Cpl, Cpu, Cpk Index
	Pp, Ppl, Ppu, Ppk Index
	// Measured is the part of the variance of all units that the measurement adds, 0 to 1.
	Measured float64
}

// Capability returns the indices for the limits lo and hi, one of which may be infinite.
//
//	Cp = (hi - lo)/(6 s),   Cpl = (m - lo)/(3 s),   Cpu = (hi - m)/(3 s),   Cpk the smaller of these
//	Cp:       Cp sqrt(chi2(tail, nu)/nu) .. Cp sqrt(chi2(1-tail, nu)/nu)
//	the rest: C +- z(1-tail) sqrt( 1/(9 N) + C^2/(2 nu) )
//
// with a measurement taken out, the interval of s by theory (8.5), and the mean no better known than
// all scatter lets it.
//
// Source: Bissell, Appl. Stat. 39, 1990 (from memory), rest textbook; checked against printed results. The
// last sentence derived. Theory (8.22).
func (u Units) Capability(lo, hi, confidence float64) (Capability, error) {
	if !(lo < hi) || math.IsInf(lo, -1) && math.IsInf(hi, 1) {
		return Capability{}, notice.New("process-limits", notice.Facts{"low": lo, "high": hi})
	}
	if err := probability("confidence", confidence); err != nil {
		return Capability{}, err
	}
	within, err := u.apart(u.Within)
	if err != nil {
		return Capability{}, err
	}
	overall, err := u.apart(u.Overall)
	if err != nil {
		return Capability{}, err
	}
	var c Capability
	c.Cp, c.Cpl, c.Cpu, c.Cpk = u.indices(within, lo, hi, confidence)
	c.Pp, c.Ppl, c.Ppu, c.Ppk = u.indices(overall, lo, hi, confidence)
	c.Measured = u.Measurement.Variance / u.Overall.Variance
	return c, nil
}

func (u Units) indices(s own, lo, hi, confidence float64) (both, lower, upper, worse Index) {
	z := distuv.UnitNormal.Quantile((1 + confidence) / 2)
	side := func(distance float64) Index {
		c := distance / (3 * s.Std())
		arm := z * math.Sqrt(1/(9*u.meanN(s))+c*c/(2*s.Dof))
		return Index{true, c, study.Interval{Lo: c - arm, Hi: c + arm}}
	}
	if !math.IsInf(lo, -1) {
		lower = side(u.Mean - lo)
		worse = lower
	}
	if !math.IsInf(hi, 1) {
		upper = side(hi - u.Mean)
		if !worse.Known || upper.Value < worse.Value {
			worse = upper
		}
	}
	if lower.Known && upper.Known {
		v := s.interval(confidence)
		both = Index{true, (hi - lo) / (6 * s.Std()), study.Interval{Lo: (hi - lo) / (6 * math.Sqrt(v.Hi)), Hi: (hi - lo) / (6 * math.Sqrt(v.Lo))}}
	}
	return both, lower, upper, worse
}

// OneSidedBound returns the lower bound, exact, of a one-sided index whose estimate
// from n units is c, the scatter known with dof degrees of freedom: the C at which
//
//	P( T <= 3 sqrt(n) c ) = confidence,   T noncentral t with dof and 3 sqrt(n) C
//
// Source: textbook, definition of the noncentral t distribution. Theory (8.23).
func OneSidedBound(c float64, n int, dof, confidence float64) (float64, error) {
	if n < 1 || !(dof >= 1) || math.IsNaN(c) || math.IsInf(c, 0) {
		return 0, notice.New("process-too-few", notice.Facts{"values": n, "least": 2})
	}
	if err := probability("confidence", confidence); err != nil {
		return 0, err
	}
	root := 3 * math.Sqrt(float64(n))
	// The probability falls from 1 to 0 as C grows.
	below := func(bound float64) bool {
		return stat.NoncentralT{Dof: dof, Delta: root * bound}.Cdf(root*c) > confidence
	}
	lo, hi := c-1, c+1
	for step := 1.; !below(lo); step *= 2 {
		lo -= step
	}
	for step := 1.; below(hi); step *= 2 {
		hi += step
	}
	for range 60 {
		if mid := (lo + hi) / 2; below(mid) {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, nil
}
