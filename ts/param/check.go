package param

import (
	"math"

	"conewright/ts/internal/bounds"
	"conewright/ts/notice"
)

const (
	// mostScaled bounds what a value can be on its scale: 1e43 of a logarithm.
	mostScaled = 100
	mostNumber = 1e12 // of a value that is no logarithm
	mostStd    = 1e100
	// A factor beyond these belongs to no degrees of freedom that a fit can have.
	leastCoverage, mostCoverage = 1, 1e3
	// LeastDof is the fewest degrees of freedom that a scatter can be known with; on fewer, an
	// interval has no end worth the name.
	LeastDof = 0.5
	mostDof  = 1e9
)

// Check refuses parameter sets that no decision may rest on: lists that do not go
// together, quantities that are none or twice there, values or uncertainties that are
// not finite numbers.
func (p Parameters) Check() error {
	n := len(p.IDs)
	if len(p.Scaled) != n || len(p.Origin) != n || p.Skew != nil && len(p.Skew) != n || p.Noise != nil && p.Noise.SymmetricDim() != n {
		return notice.New("set-incomplete", nil)
	}
	for _, c := range p.Components {
		if len(c.Effect) != n || c.Part > RepeatPart || c.Dof != 0 && !(c.Dof >= LeastDof && c.Dof <= mostDof) {
			return notice.New("set-incomplete", notice.Facts{"source": c.Source})
		}
	}
	for i, id := range p.IDs {
		if id >= Count || p.Index(id) != i {
			return notice.New("bad-quantity", notice.Facts{"quantity": id})
		}
		most := float64(mostNumber)
		if id.Info().Positive {
			most = mostScaled
		}
		finite := math.Abs(p.Scaled[i]) <= most && p.ScaledStd(i) <= mostStd
		if p.Skew != nil {
			finite = finite && bounds.Finite(p.Skew[i][:]...)
		}
		if !finite {
			return notice.New("not-finite", notice.Facts{"quantity": id})
		}
		for k := 0; p.Noise != nil && k <= i; k++ {
			if !(math.Abs(p.Noise.At(i, k)) <= (1+1e-6)*p.ScaledStd(i)*p.ScaledStd(k)) {
				return notice.New("bad-covariance", notice.Facts{"quantity": id, "other": p.IDs[k]})
			}
		}
	}
	if !(math.Abs(p.MeterOff) <= mostScaled) {
		return notice.New("not-finite", notice.Facts{"quantity": Re})
	}
	if !(p.Coverage >= leastCoverage && p.Coverage < mostCoverage) {
		return notice.New("bad-coverage", notice.Facts{"coverage": p.Coverage})
	}
	return bounds.First(p.Mounting.Check(), bounds.Temperature.Given(p.Temperature, 0))
}
