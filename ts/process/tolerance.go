package process

import (
	"math"

	"gonum.org/v1/gonum/stat/distuv"

	"conewright/ts/internal/stat"
	"conewright/ts/notice"
	"conewright/ts/study"
)

// Side says which end of a tolerance interval is meant.
type Side int

// The sides of a tolerance interval.
const (
	BothSides Side = iota
	AtLeast        // only a lower limit
	AtMost         // only an upper limit
)

// Tolerance returns limits that hold, with the confidence, at least the share of all
// units that the process makes: mean +- k s. With few units they are wide, as they must be: five
// give k = 5 for 95 % with a confidence of 95 %.
//
// With a measurement taken out, s is that of the units alone, on fewer degrees of freedom.
//
// Source: theory (8.24) to (8.26); taking out the measurement derived.
func (u Units) Tolerance(side Side, share, confidence float64) (study.Interval, error) {
	s, err := u.apart(u.Overall)
	if err != nil {
		return study.Interval{}, err
	}
	factor := OneSidedFactor
	if side == BothSides {
		factor = TwoSidedFactor
	}
	if err := probability("confidence", confidence); err != nil {
		return study.Interval{}, err
	}
	k, err := factor(u.meanN(s), s.upperDof(confidence), share, confidence)
	if err != nil {
		return study.Interval{}, err
	}
	out := study.Interval{Lo: u.Mean - k*s.Std(), Hi: u.Mean + k*s.Std()}
	switch side {
	case AtLeast:
		out.Hi = math.Inf(1)
	case AtMost:
		out.Lo = math.Inf(-1)
	}
	return out, nil
}

// tolerable refuses what has no factor.
func tolerable(n, dof, share, confidence float64) error {
	if !(n > 0) || !(dof >= 1) || math.IsInf(n, 1) {
		return notice.New("process-too-few", notice.Facts{"values": n, "least": 2})
	}
	if err := probability("share", share); err != nil {
		return err
	}
	return probability("confidence", confidence)
}

// OneSidedFactor returns k such that with the confidence at least the share of all units lies
// below mean + k s; n units give the mean, and s rests on dof degrees of freedom:
//
//	k = t'(confidence, dof, z(share) sqrt n)/sqrt n,   t' the quantile of noncentral t
//
// Source: textbook, exact; checked against printed tables. Theory (8.24).
func OneSidedFactor(n, dof, share, confidence float64) (float64, error) {
	if err := tolerable(n, dof, share, confidence); err != nil {
		return 0, err
	}
	root := math.Sqrt(n)
	return stat.NoncentralT{Dof: dof, Delta: distuv.UnitNormal.Quantile(share) * root}.Quantile(confidence) / root, nil
}

// TwoSidedFactor returns k such that with the confidence at least the share of all units lies
// within mean +- k s. It is exact: the k at which FactorConfidence is the confidence.
// Theory (8.25).
func TwoSidedFactor(n, dof, share, confidence float64) (float64, error) {
	if err := tolerable(n, dof, share, confidence); err != nil {
		return 0, err
	}
	within := newWithin(n, share)
	lo, hi := 0., 1.
	for within.confidence(hi, dof) < confidence {
		lo, hi = hi, 2*hi
	}
	for range 60 {
		if mid := (lo + hi) / 2; within.confidence(mid, dof) < confidence {
			lo = mid
		} else {
			hi = mid
		}
	}
	return (lo + hi) / 2, nil
}

// HoweFactor returns the usual approximation to TwoSidedFactor:
//
//	k = z((1+share)/2) sqrt( (1 + 1/n)/c ),   c = chi2(1-confidence, dof)/dof
//
// It is too small for 10 to 30 units at a share of 95 %, by up to 0.4 %.
//
// Source: Howe, J. Am. Stat. Assoc. 64, 1969 (from memory; seen in a public program). Theory (8.26).
func HoweFactor(n, dof, share, confidence float64) (float64, error) {
	if err := tolerable(n, dof, share, confidence); err != nil {
		return 0, err
	}
	return distuv.UnitNormal.Quantile((1+share)/2) * math.Sqrt((1+1/n)/stat.ChiSquare(1-confidence, dof)), nil
}

// FactorConfidence returns the confidence with which mean +- k s holds at least the share
// of all units:
//
//	integral of phi(v) P( chi2(dof) > dof r(v)^2/k^2 ) dv,   Phi(v/sqrt n + r) - Phi(v/sqrt n - r) = share
//
// Source: textbook (seen in a public program). Theory (8.25).
func FactorConfidence(k, n, dof, share float64) (float64, error) {
	if err := tolerable(n, dof, share, 0.5); err != nil {
		return 0, err
	}
	if !(k > 0) {
		return 0, notice.New("process-factor", notice.Facts{"factor": k})
	}
	return newWithin(n, share).confidence(k, dof), nil
}

// within holds the half-widths that contain the share, for a mean that is v
// standard errors off, at equal steps of v from 0.
type within []float64

// step is the step of v. The integrand is smooth and falls off at both ends, so that
// the trapezoidal rule has all digits.
const step = 1. / 8

func newWithin(n, share float64) within {
	var out within
	for v := 0.; v < 9; v += step {
		off := v / math.Sqrt(n)
		lo, hi := 0., off+10
		for range 60 {
			if mid := (lo + hi) / 2; stat.Between(off-mid, off+mid) < share {
				lo = mid
			} else {
				hi = mid
			}
		}
		out = append(out, (lo+hi)/2)
	}
	return out
}

func (w within) confidence(k, dof float64) float64 {
	d := distuv.ChiSquared{K: dof}
	var sum float64
	for i, r := range w {
		weight := 2 * step
		if i == 0 {
			weight = step
		}
		q := r / k * r / k
		above := 0.
		if math.IsInf(dof, 1) {
			if q < 1 {
				above = 1
			}
		} else {
			above = d.Survival(dof * q)
		}
		sum += weight * distuv.UnitNormal.Prob(float64(i)*step) * above
	}
	return sum
}
