package study

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat"

	"conewright/ts/notice"
)

// JointPrior is what is known of one level beforehand, for several responses at once: their covariance,
// as well known as that of Dof independent deviations. Without degrees of freedom it
// says nothing.
type JointPrior struct {
	Covariance *mat.SymDense
	Dof        float64
}

// Joint is an analysis of several responses of the same readings, such as the logarithms
// of resonance and Q, which scatter together.
type Joint struct {
	// Responses are the analyses one by one. What they say of a response
	// does not depend on which others are analysed with it.
	Responses []*Nested
	// Correlation has for each level the correlation of the responses, positive
	// semidefinite; 0 where a response does not scatter.
	Correlation []*mat.SymDense
}

// Together analyses several responses, each with one value for each reading. priors is empty, or
// has one entry for each level.
//
// The correlation of a level is that of its moments, made positive semidefinite, pooled with the
// prior in proportion to the degrees of freedom. The moments are what the analysis of
// variance gives with products in place of squares, so that
// cov(a,b) = (v(a+b) - v(a-b))/4 holds exactly. Theory (8.14).
//
// Source: textbook; cutting off negative eigenvalues in units of the mean squares after Amemiya,
// Am. Stat. 39, 1985 (from memory); pooling derived.
func (d *Design) Together(values [][]float64, priors ...JointPrior) (*Joint, error) {
	if len(priors) == 0 {
		priors = make([]JointPrior, len(d.levels))
	}
	if len(priors) != len(d.levels) {
		panic("study: a prior for each level")
	}
	for k, p := range priors {
		if p.Dof != 0 && !isCovariance(p.Covariance, len(values)) {
			return nil, notice.New("study-prior-covariance", notice.Facts{"level": d.levels[k], "responses": len(values)})
		}
	}
	out := &Joint{}
	for r, v := range values {
		single := make([]Spread, len(priors))
		for k, p := range priors {
			if p.Dof != 0 {
				single[k] = Spread{p.Covariance.At(r, r), p.Dof}
			}
		}
		n, err := d.Analyse(v, single...)
		if err != nil {
			return nil, err
		}
		out.Responses = append(out.Responses, n)
	}
	own := d.ownCorrelations(values)
	for k := range d.levels {
		out.Correlation = append(out.Correlation, out.pooled(k, own[k], priors[k]))
	}
	return out, nil
}

// ownCorrelations returns the correlation of the responses on each level from the
// data alone.
func (d *Design) ownCorrelations(values [][]float64) []*mat.SymDense {
	scaled := make([][]float64, len(values))
	for r, v := range values {
		scaled[r] = slices.Clone(v)
		if std := stat.StdDev(v, nil); std > 0 {
			floats.Scale(1/std, scaled[r])
		}
	}
	covariance, square := make([]*mat.SymDense, len(d.levels)), make([][]float64, len(d.levels))
	for k := range covariance {
		covariance[k], square[k] = mat.NewSymDense(len(values), nil), make([]float64, len(values))
	}
	squares := func(a, b []float64, sign float64) []float64 {
		x := make([]float64, len(a))
		x = floats.AddScaledTo(x, a, sign, b)
		taken, err := d.take(x)
		if err != nil {
			panic(err) // Analyse has seen the values
		}
		return taken.meanSquares()
	}
	for a := range values {
		for b := range a + 1 {
			plus, minus := squares(scaled[a], scaled[b], 1), squares(scaled[a], scaled[b], -1)
			vp, vm := d.moments(plus), d.moments(minus)
			for k := range covariance {
				covariance[k].SetSym(a, b, (vp[k]-vm[k])/4)
				square[k][a] = plus[k] / 4 // the last b is a, and this its mean square
			}
		}
	}
	for k, c := range covariance {
		for a := range values {
			for b := range a + 1 {
				if unit := math.Sqrt(square[k][a] * square[k][b]); unit > 0 {
					c.SetSym(a, b, c.At(a, b)/unit)
				}
			}
		}
		covariance[k] = toCorrelation(semidefinite(c))
	}
	return covariance
}

// pooled returns the correlation of level k with what the prior says of it.
func (j *Joint) pooled(k int, own *mat.SymDense, prior JointPrior) *mat.SymDense {
	if prior.Dof == 0 {
		return own
	}
	var dof float64 // of the data alone, on average over the responses
	for _, r := range j.Responses {
		dof += max(0, r.Components[k].Dof-prior.Dof) / float64(len(j.Responses))
	}
	out := toCorrelation(prior.Covariance)
	for a := range out.SymmetricDim() {
		for b := range a {
			out.SetSym(a, b, (prior.Dof*out.At(a, b)+dof*own.At(a, b))/(prior.Dof+dof))
		}
	}
	return out
}

// semidefinite returns m without its negative eigenvalues.
func semidefinite(m *mat.SymDense) *mat.SymDense {
	var eigen mat.EigenSym
	if !eigen.Factorize(m, true) {
		panic("study: no eigenvalues of a symmetric matrix")
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	n := m.SymmetricDim()
	out := mat.NewSymDense(n, nil)
	for i, value := range eigen.Values(nil) {
		if value > 0 {
			out.SymRankOne(out, value, vectors.ColView(i))
		}
	}
	return out
}

// isCovariance says whether m can be the covariance of n responses.
func isCovariance(m *mat.SymDense, n int) bool {
	if m == nil || m.SymmetricDim() != n {
		return false
	}
	for i := range n {
		if !(m.At(i, i) > 0) || math.IsInf(m.At(i, i), 1) {
			return false
		}
		for j := range i {
			if r := m.At(i, j) / math.Sqrt(m.At(i, i)*m.At(j, j)); !(math.Abs(r) <= 1) {
				return false
			}
		}
	}
	var eigen mat.EigenSym
	return eigen.Factorize(toCorrelation(m), false) && floats.Min(eigen.Values(nil)) > -1e-9
}

// toCorrelation scales a covariance to a diagonal of 1; a row that is 0 stays so
// beside it.
func toCorrelation(m *mat.SymDense) *mat.SymDense {
	n := m.SymmetricDim()
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := range i {
			if unit := math.Sqrt(m.At(i, i) * m.At(j, j)); unit > 0 {
				out.SetSym(i, j, max(-1, min(1, m.At(i, j)/unit)))
			}
		}
		out.SetSym(i, i, 1)
	}
	return out
}

// Covariance returns the covariance of the responses on a level.
func (j *Joint) Covariance(level int) *mat.SymDense {
	n := len(j.Responses)
	out := mat.NewSymDense(n, nil)
	for a := range n {
		for b := range a + 1 {
			out.SetSym(a, b, j.Correlation[level].At(a, b)*j.Responses[a].Components[level].Std()*j.Responses[b].Components[level].Std())
		}
	}
	return out
}

// Spread returns the spread on a level of slopes times the responses. Its degrees
// of freedom are the fewest of the responses in it.
func (j *Joint) Spread(level int, slopes []float64) Spread {
	v := mat.NewVecDense(len(slopes), slopes)
	out := Spread{max(0, mat.Inner(v, j.Covariance(level), v)), math.Inf(1)}
	for r, s := range slopes {
		c := j.Responses[r].Components[level]
		switch {
		case s == 0:
		case c.Variance == 0:
			out.Dof = math.Min(out.Dof, float64(c.Freedom))
		default:
			out.Dof = math.Min(out.Dof, c.Dof)
		}
	}
	return out
}
