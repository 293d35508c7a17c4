package study

import (
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"conewright/ts/notice"
)

// Mean returns the mean of a driver as it would be over ever more groups of
// every level, and the spread of its error: with balanced data MS/N of the outermost
// level, on its degrees of freedom.
//
// Source: generalised least squares; textbook. Degrees of freedom as theory (8.7).
func (n *Nested) Mean(driver string) (float64, Spread, error) {
	k := slices.Index(n.data.drivers, driver)
	if k < 0 {
		return 0, Spread{}, unknownDriver(driver)
	}
	lambda, err := n.data.weights(k, make([]float64, len(n.data.count)), n.state.v)
	if err != nil {
		return 0, Spread{}, err
	}
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
	lambda, err := x.weights(k, x.commonVariance(shared, n.state.v), n.state.v)
	if err != nil {
		return 0, Spread{}, err
	}
	doubt, err := n.doubtOfWeights(k, shared)
	if err != nil {
		return 0, Spread{}, err
	}
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
	s.Variance += doubt
	return x.centre + floats.Dot(lambda, x.mean), s, nil
}

// commonVariance returns the covariance of a new reading with the mean of each
// cell, from the levels on which they share a group.
func (x *data) commonVariance(shared [][]bool, v []float64) []float64 {
	out := make([]float64, len(x.count))
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
func (n *Nested) doubtOfWeights(driver int, shared [][]bool) (float64, error) {
	var slopes []*mat.VecDense
	var level []int
	for k, v := range n.state.v {
		if v == 0 {
			continue
		}
		step := 1e-4 * v
		at := func(v float64) ([]float64, error) {
			near := slices.Clone(n.state.v)
			near[k] = v
			return n.data.weights(driver, n.data.commonVariance(shared, near), near)
		}
		slope, err := at(v + step)
		if err != nil {
			return 0, err
		}
		below, err := at(v - step)
		if err != nil {
			return 0, err
		}
		floats.Sub(slope, below)
		floats.Scale(0.5/step, slope)
		slopes, level = append(slopes, mat.NewVecDense(len(slope), slope)), append(level, k)
	}
	means := n.data.covariance(n.state.v)
	var out float64
	for i, a := range slopes {
		for j, b := range slopes {
			out += n.cov.At(level[i], level[j]) * mat.Inner(a, means, b)
		}
	}
	return out, nil
}

// weights returns what multiplies the means of the cells in the best prediction of something with
// the expectation of driver k and the given covariance c with the means, at the variances v.
//
//	lambda = W^-1 c + W^-1 X (X' W^-1 X)^-1 (x - X' W^-1 c)
//
// It is found as W lambda + X mu = c, X' lambda = x.
func (x *data) weights(driver int, covariance, v []float64) ([]float64, error) {
	b, p := x.fixed.Dims()
	w := x.covariance(v)
	scale := mat.Max(w) // so that both kinds of rows are of one size
	a, y := mat.NewDense(b+p, b+p, nil), mat.NewVecDense(b+p, nil)
	for i := range b {
		for j := range b {
			a.Set(i, j, w.At(i, j)/scale)
		}
		for k := range p {
			a.Set(i, b+k, x.fixed.At(i, k))
			a.Set(b+k, i, x.fixed.At(i, k))
		}
		y.SetVec(i, covariance[i]/scale)
	}
	y.SetVec(b+driver, 1)
	var out mat.VecDense
	if err := out.SolveVec(a, y); err != nil {
		return nil, x.inseparable().Because(err)
	}
	return out.RawVector().Data[:b], nil
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
