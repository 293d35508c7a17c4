package study

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"

	"conewright/ts/notice"
)

// Component is the scatter of one level.
type Component struct {
	Level string
	// Spread is the variance that one step of this level adds, from data and prior together,
	// by restricted likelihood. It is 0 on 0 degrees of freedom where the level adds
	// nothing that the data show; its upper limit is not 0.
	Spread
	// Freedom, SumOfSquares and MeanSquare are the row of the analysis of variance, and
	// Moments is the variance that it gives by itself, which may be negative. All are
	// 0 where the design has no repeats on this level and only the prior is known.
	Freedom                           int
	SumOfSquares, MeanSquare, Moments float64
	Prior                             Spread // as given
	// PriorRatio is the mean square of the data over the one that the prior predicts, and
	// Agreement the probability that chance takes it as far from 1 as this, either way.
	// 0 and 1 where there is nothing to compare.
	PriorRatio, Agreement float64
}

// Nested is an analysis of variance components.
type Nested struct {
	Components []Component // outermost first; the last is the reading itself
	// Fit is -2 ln of the restricted likelihood, priors included.
	Fit float64
	// Notices say where data and prior contradict each other: prior-in-conflict.
	Notices []notice.Notice

	data   *data
	state  *state
	priors []Spread
	cov    *mat.SymDense // of the variances, 0 for those that are 0
}

// Analyse splits the scatter of the values, one for each reading of the design, into the
// variances of its levels. priors is empty, or has a Spread for each level; one
// without degrees of freedom says nothing. A level that the design does not repeat needs a prior.
//
// Without priors and with balanced data the variances are those of the analysis of variance unless
// one of these is negative; then it is 0 and the others are estimated anew.
//
// Source: see theory (8.1) to (8.3) and (8.8).
func (d *Design) Analyse(values []float64, priors ...Spread) (*Nested, error) {
	if len(priors) == 0 {
		priors = make([]Spread, len(d.levels))
	}
	if len(priors) != len(d.levels) {
		panic("study: a prior for each level")
	}
	if err := d.tellable(priors); err != nil {
		return nil, err
	}
	x, err := d.take(values)
	if err != nil {
		return nil, err
	}
	ms := x.meanSquares()
	last := len(ms) - 1
	if priors[last].Dof == 0 && ms[last] <= sq(1e-14*floats.Norm(values, math.Inf(1))) {
		return nil, notice.New("study-no-scatter", notice.Facts{"level": d.levels[last]})
	}
	v := x.maximise(x.start(ms, priors), priors, hold{}).v
	for k := range last {
		if v[k] < 1e-12*floats.Sum(v) && priors[k].Dof == 0 {
			v[k] = 0 // what rounding leaves
		}
	}
	n := &Nested{data: x, priors: slices.Clone(priors), state: x.at(v, priors)}
	n.Fit = n.state.fit
	if n.cov, err = x.doubt(n.state, priors); err != nil {
		return nil, err
	}
	moments := d.moments(ms)
	for k, dof := range d.Dof() {
		c := Component{Level: d.levels[k], Freedom: dof, SumOfSquares: x.squares[k], MeanSquare: ms[k], Moments: moments[k],
			Prior: priors[k], Agreement: 1, Spread: n.sum(unit(len(ms), k))}
		if c.Variance == 0 {
			c.Dof = 0
		}
		n.Components = append(n.Components, c)
	}
	n.compareWithPriors()
	return n, nil
}

// tellable refuses priors that say nothing sensible, and levels that show in neither the
// design nor a prior.
func (d *Design) tellable(priors []Spread) error {
	for k, dof := range d.Dof() {
		p := priors[k]
		switch {
		case p.Dof == 0 && dof == 0:
			return notice.New("study-no-repeats", notice.Facts{"level": d.levels[k]})
		case p.Dof != 0 && !p.known():
			return notice.New("study-prior", notice.Facts{"level": d.levels[k], "variance": p.Variance, "dof": p.Dof})
		}
	}
	return nil
}

// start returns variances to start from: those of the mean squares, each pooled with its prior.
func (x *data) start(ms []float64, priors []Spread) []float64 {
	v := x.moments(ms)
	for k, dof := range x.Dof() {
		v[k] = (priors[k].Dof*priors[k].Variance + float64(dof)*max(v[k], 0)) / (priors[k].Dof + float64(dof))
	}
	return v
}

// doubt returns the covariance of the variances, from the expected second
// derivative of the likelihood; rows of those that are 0 are 0. What the groups of a level
// with the variance 0 differ by is left out: it came out as small as it is by chance, and
// counting it made intervals too short.
func (x *data) doubt(s *state, priors []Spread) (*mat.SymDense, error) {
	if math.IsInf(s.fit, 1) {
		return nil, x.inseparable()
	}
	var index, zero []int
	for k, v := range s.v {
		if v > 0 {
			index = append(index, k)
		} else {
			zero = append(zero, k)
		}
	}
	if len(zero) > 0 {
		x = x.without(zero)
		s = x.at(s.v, priors)
	}
	h, _ := x.normal(s, priors)
	// On the scale of ln v, where the entries are of one size.
	scaled := mat.NewSymDense(len(index), nil)
	for i, k := range index {
		for j, l := range index[:i+1] {
			scaled.SetSym(i, j, h.At(k, l)*s.v[k]*s.v[l])
		}
	}
	var chol mat.Cholesky
	var inv mat.SymDense
	out := mat.NewSymDense(len(s.v), nil)
	if !chol.Factorize(scaled) || chol.InverseTo(&inv) != nil {
		return nil, x.inseparable()
	}
	for i, k := range index {
		for j, l := range index[:i+1] {
			out.SetSym(k, l, 2*inv.At(i, j)*s.v[k]*s.v[l])
		}
	}
	return out, nil
}

// inseparable says that the variances differ by more powers of ten than numbers have digits.
func (x *data) inseparable() *notice.Notice {
	return notice.New("study-inseparable", notice.Facts{"level": x.levels[len(x.levels)-1]})
}

// sum returns the spread of weights times the variances, with
//
//	nu = 2 V^2/Var V
//
// and not more than the degrees of freedom of any level in it whose variance came out as 0:
// that such a level adds nothing is known no better than that. With priors it is also not more than
// CombineJudged says.
//
// Source: Satterthwaite, Biometrics Bull. 2, 1946 (from memory); the conditions derived,
// and held against simulated coverage. Theory (8.7).
func (n *Nested) sum(weights []float64) Spread {
	v := floats.Dot(weights, n.state.v)
	w := mat.NewVecDense(len(weights), weights)
	out := Spread{v, 2 * v * v / mat.Inner(w, n.cov, w)}
	if v == 0 {
		return Spread{}
	}
	var terms []Term
	for k, dof := range n.data.Dof() {
		switch v := n.state.v[k]; {
		case weights[k] <= 0:
		case v == 0:
			out.Dof = math.Min(out.Dof, float64(dof))
		default:
			terms = append(terms, Term{"", math.Sqrt(weights[k] * v), 2 * v * v / n.cov.At(k, k)})
		}
	}
	if n.hasPrior() {
		out.Dof = math.Min(out.Dof, CombineJudged(terms...).Dof)
	}
	return out
}

// Total returns the spread of one reading when everything is new.
func (n *Nested) Total() Spread { return n.sum(ones(len(n.state.v))) }

// Difference returns the spread of the difference of two means of readings to come,
// like DifferenceTerms but counting with what the estimates of the levels have in common.
func (n *Nested) Difference(before, after []int, shared int) Spread {
	return n.sum(differenceWeights(len(n.state.v), before, after, shared))
}

func unit(n, k int) []float64 {
	out := make([]float64, n)
	out[k] = 1
	return out
}

func ones(n int) []float64 {
	out := make([]float64, n)
	floats.AddConst(1, out)
	return out
}
