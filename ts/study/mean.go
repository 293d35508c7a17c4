package study

import (
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"conewright/ts/notice"
)

// Mean returns the mean of a driver as it would be over ever more groups of
// every level, and the spread of its error: with balanced data the mean of its
// readings, and
//
//	V = MS of the outermost level/N,   on the degrees of freedom of that level
//
// Source: generalised least squares; textbook. Degrees of freedom as theory (8.7).
func (n *Nested) Mean(driver string) (float64, Spread, error) {
	k := slices.Index(n.data.drivers, driver)
	if k < 0 {
		return 0, Spread{}, unknownDriver(driver)
	}
	lambda := n.weights(k, make([]float64, len(n.data.count)))
	return n.data.centre + floats.Dot(lambda, n.data.mean), n.sum(n.variance(lambda)), nil
}

// Predict returns one further reading of a driver and the spread of its error. groups names
// the groups that it shares with readings of the design, outermost first: none when
// everything is new, operator and session for another clamping within that session, and all for
// another reading of that clamping. A name that the design does not have is a new group.
//
// Source: best linear unbiased prediction, Henderson, Biometrics 31, 1975 (from memory), with the
// variances taken as they are estimated. Degrees of freedom as theory (8.7).
func (n *Nested) Predict(driver string, groups ...string) (float64, Spread, error) {
	x := n.data
	k := slices.Index(x.drivers, driver)
	if k < 0 {
		return 0, Spread{}, unknownDriver(driver)
	}
	if len(groups) > len(x.group) {
		return 0, Spread{}, notice.New("study-place", notice.Facts{"reading": 0, "groups": len(groups), "expected": len(x.group)})
	}
	shared := make([][]bool, len(x.group)) // which cells share the group of each level
	for l := range shared {
		shared[l] = make([]bool, len(x.count))
		if l >= len(groups) {
			continue
		}
		if g, ok := x.pathOf[path(groups[:l+1])]; ok {
			for c := range x.count {
				shared[l][c] = x.group[l].of[c] == g
			}
		}
	}
	lambda := n.weights(k, commonVariance(shared, n.state.v))
	// The error is the new reading less lambda times the means.
	w := n.variance(lambda)
	for l := range w {
		w[l]++
		for c, weight := range lambda {
			if l < len(shared) && shared[l][c] {
				w[l] -= 2 * weight
			}
		}
	}
	s := n.sum(w)
	s.Variance += n.doubtOfWeights(k, shared, lambda)
	return x.centre + floats.Dot(lambda, x.mean), s, nil
}

// commonVariance returns the covariance of a new reading with the mean of each
// cell, from the levels on which they share a group.
func commonVariance(shared [][]bool, v []float64) []float64 {
	if len(shared) == 0 {
		return make([]float64, 1)
	}
	out := make([]float64, len(shared[0]))
	for l, cells := range shared {
		for c, same := range cells {
			if same {
				out[c] += v[l]
			}
		}
	}
	return out
}

// doubtOfWeights returns the variance that comes from weights which follow
// estimated variances instead of true ones, to first order:
//
//	sum over levels k, l of cov(v_k, v_l) (d lambda/d v_k)' W (d lambda/d v_l)
//
// Source: Kackar and Harville, J. Am. Stat. Assoc. 79, 1984 (from memory); without
// it intervals in simulations were too short.
func (n *Nested) doubtOfWeights(driver int, shared [][]bool, lambda []float64) float64 {
	var slopes []*mat.VecDense
	var level []int
	for k, v := range n.state.v {
		if v == 0 {
			continue
		}
		step := 1e-4 * v
		near := slices.Clone(n.state.v)
		near[k] += step
		moved := (&Nested{data: n.data, state: n.data.at(near, n.priors)}).weights(driver, commonVariance(shared, near))
		floats.Sub(moved, lambda)
		floats.Scale(1/step, moved)
		slopes, level = append(slopes, mat.NewVecDense(len(moved), moved)), append(level, k)
	}
	var out float64
	for i, a := range slopes {
		for j, b := range slopes {
			out += n.cov.At(level[i], level[j]) * mat.Inner(a, n.state.means, b)
		}
	}
	return out
}

// weights returns what multiplies the means of the cells in the best prediction of something with
// the expectation of driver k and the given covariance with the means.
//
//	lambda = W^-1 c + W^-1 X (X' W^-1 X)^-1 (x - X' W^-1 c)
func (n *Nested) weights(k int, covariance []float64) []float64 {
	b, p := len(n.data.count), len(n.data.drivers)
	var first mat.VecDense
	first.MulVec(n.state.inverse, mat.NewVecDense(b, covariance))
	left := make([]float64, p)
	left[k] = 1
	for c, d := range n.data.driver {
		left[d] -= first.AtVec(c)
	}
	var effect, second mat.VecDense
	effect.MulVec(n.state.driver, mat.NewVecDense(p, left))
	spread := make([]float64, b)
	for c, d := range n.data.driver {
		spread[c] = effect.AtVec(d)
	}
	second.MulVec(n.state.inverse, mat.NewVecDense(b, spread))
	first.AddVec(&first, &second)
	return first.RawVector().Data
}

// variance returns what multiplies the variance of each level in the variance of
// lambda times the means of the cells.
func (n *Nested) variance(lambda []float64) []float64 {
	last := len(n.state.v) - 1
	out := make([]float64, last+1)
	for k := range last {
		out[k] = sumSquares(n.data.total(k, lambda))
	}
	for c, l := range lambda {
		out[last] += l * l / n.data.count[c]
	}
	return out
}

func unknownDriver(driver string) error {
	return notice.New("study-no-such-driver", notice.Facts{"driver": driver})
}
