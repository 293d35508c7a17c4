package ts

import (
	"math"
	"math/cmplx"
	"slices"
)

const (
	// A residual that lies this many standard deviations from the median of its
	// neighbours is an outlier: hum, a contact that crackled, a number mistyped.
	outlierLimit = 5
	// Neighbours on either side: a misfit moves them all, an outlier does not.
	outlierReach = 5
)

// outliersAtMost is the part of the points that may be outliers; where more stick
// out it is the model that does not follow the curve.
const outliersAtMost = 0.05

// distrust lowers the weights of outliers, judged by the residuals of the
// solution, and returns how many there are. Each point is compared with the
// median of its neighbours, so a slowly varying misfit does not count; the scale
// is the median distance, so outliers do not enter it. A point beyond the limit gets
// a weight that falls with the square of its distance: the pull of a gross error
// goes to zero. theory (3.12).
func (in *input) distrust(s *solution) int {
	before := in.trust
	in.trust = make([][]float64, len(in.obs))
	count, points := 0, 0
	for k := range in.obs {
		o := &in.obs[k]
		z := s.prob.impedance(s.x, k)
		n := len(z)
		in.trust[k] = ones(n)
		if n < 3*outlierReach {
			continue
		}
		re, im := make([]float64, n), make([]float64, n)
		for i, v := range z {
			d := v - o.z[i]
			if o.magnitudeOnly {
				d = complex(cmplx.Abs(v)-real(o.z[i]), 0)
			}
			re[i], im[i] = real(d)*o.weight[i], imag(d)*o.weight[i]
		}
		off := make([]float64, n)
		for i := range off {
			a, b := max(0, i-outlierReach), min(n, i+outlierReach+1)
			off[i] = math.Hypot(re[i]-middle(re[a:b]), im[i]-middle(im[a:b]))
		}
		// Median of the length of a vector of two normal components is 1.1774
		// of their standard deviation; of one component 0.6745.
		scale := middle(off) / math.Sqrt(2*math.Ln2)
		if o.magnitudeOnly {
			scale = middle(off) / 0.6745
		}
		if !in.knownSigma[k] {
			scale = max(scale, minNoise*unknownNoise)
		} else {
			scale = max(scale, 1)
		}
		for i, d := range off {
			if d > outlierLimit*scale {
				in.trust[k][i] = sq(outlierLimit * scale / d)
				count++
			}
		}
		points += n
	}
	if float64(count) > outliersAtMost*float64(points) {
		in.trust = before
		return 0
	}
	return count
}

func middle(v []float64) float64 {
	var few [16]float64 // the usual number; a slice of it needs no memory of its own
	s := append(few[:0], v...)
	slices.Sort(s)
	n := len(s)
	return (s[(n-1)/2] + s[n/2]) / 2
}
