package process

import (
	"math"

	gonum "gonum.org/v1/gonum/stat"

	"conewright/ts/internal/stat"
	"conewright/ts/notice"
	"conewright/ts/study"
)

// Units is what a lot shows of a process: mean and scatter of its units.
type Units struct {
	N    int
	Mean float64
	// Within is the variance that units have at one time, Overall that of all. Both may rest on more
	// units than N, if scatter is known from other lots.
	Within, Overall study.Spread
	// Measurement is the part of both that the measurement adds; it is taken out of what
	// is said about the units. Without it nothing is taken out.
	Measurement study.Spread
}

// UnitsOf summarises single units in their order; Within is from one to the next.
func UnitsOf(values []float64) (Units, error) {
	c, err := Individuals(values)
	if err != nil {
		return Units{}, err
	}
	u := Units{N: len(values), Within: c.Within}
	u.Mean, u.Overall.Variance = gonum.MeanVariance(values, nil)
	u.Overall.Dof = float64(len(values) - 1)
	return u, nil
}

// UnitsOfGroups summarises units in groups, of equal size or not; Within is pooled over them.
func UnitsOfGroups(groups [][]float64) (Units, error) {
	var all []float64
	var within study.Spread
	for _, g := range groups {
		if err := finite(g, 1); err != nil {
			return Units{}, err
		}
		all = append(all, g...)
		m := mean(g)
		for _, x := range g {
			within.Variance += (x - m) * (x - m)
		}
		within.Dof += float64(len(g) - 1)
	}
	if within.Dof == 0 {
		return Units{}, notice.New("process-too-few", notice.Facts{"values": len(all), "least": len(groups) + 1})
	}
	within.Variance /= within.Dof
	u := Units{N: len(all), Within: within}
	u.Mean, u.Overall.Variance = gonum.MeanVariance(all, nil)
	u.Overall.Dof = float64(len(all) - 1)
	if within.Variance == 0 {
		return Units{}, notice.New("process-no-scatter", nil)
	}
	return u, nil
}

// own is a variance of the units themselves.
type own struct {
	study.Spread                    // degrees of freedom after Satterthwaite
	total, measured stat.MeanSquare // what it is the difference of
}

// apart takes the measurement out of a variance:
//
//	v = v_total - v_measurement,   nu = v^2/( v_total^2/nu_total + v_measurement^2/nu_measurement )
//
// With less than one degree of freedom left nothing is said about the units.
//
// Source: Satterthwaite, Biometrics Bull. 2, 1946 (from memory). Theory (8.21).
func (u Units) apart(total study.Spread) (own, error) {
	out := own{total, stat.MeanSquare{Value: total.Variance, Dof: total.Dof}, stat.MeanSquare{Dof: 1}}
	if m := u.Measurement; m.Variance > 0 {
		out.measured = stat.MeanSquare{Value: m.Variance, Dof: m.Dof}
		out.Variance -= m.Variance
		out.Dof = out.Variance * out.Variance / (total.Variance*total.Variance/total.Dof + m.Variance*m.Variance/m.Dof)
		if out.Variance <= 0 || out.Dof < 1 {
			return own{}, notice.New("process-measurement-hides-units", notice.Facts{"variance": total.Variance, "measurement": m.Variance})
		}
	}
	return out, nil
}

// interval returns the interval of the variance, theory (8.5); its lower end may
// be 0.
func (o own) interval(confidence float64) study.Interval {
	lo, hi := stat.DifferenceLimits(o.total, o.measured, (1-confidence)/2)
	return study.Interval{Lo: max(0, lo), Hi: hi}
}

// upperDof returns the degrees of freedom with which a chi-square limit of the variance, exceeded with
// the probability 1-confidence, is the one of theory (8.5). Without a measurement they are those of
// the variance; with one, Satterthwaite's made tolerance intervals much too wide.
func (o own) upperDof(confidence float64) float64 {
	if o.measured.Value == 0 {
		return o.total.Dof
	}
	_, hi := stat.DifferenceLimits(o.total, o.measured, 1-confidence)
	lo, up := -5., 20. // logarithms
	for range 50 {
		if mid := (lo + up) / 2; stat.ChiSquare(1-confidence, math.Exp(mid)) < o.Variance/hi {
			lo = mid
		} else {
			up = mid
		}
	}
	return math.Exp((lo + up) / 2)
}

// meanN returns the number of units that would give the mean its uncertainty
// if they were measured without error.
func (u Units) meanN(o own) float64 { return float64(u.N) * o.Variance / o.total.Value }
