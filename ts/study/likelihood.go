package study

import (
	"math"

	"gonum.org/v1/gonum/floats"
	"gonum.org/v1/gonum/mat"
)

// state is the restricted likelihood of the data at given variances with what follows
// from it. With W the covariance of the means of the cells, X the drivers, K an orthonormal basis
// of what X leaves, n_c the readings of cell c, b cells and N readings:
//
//	W = sum over levels of v Z Z' + v_last diag(1/n)
//	-2 ln L = (N-b) ln v_last + sum ln n_c + within/v_last
//	          + ln|K'WK| + ln|X'X| + m' P m + (N-p) ln 2 pi,   P = K (K'WK)^-1 K',  m the means
//	          + sum over priors of nu0 (ln v + s0^2/v)
//
// P and ln|K'WK| + ln|X'X| are W^-1 - W^-1 X (X'W^-1 X)^-1 X'W^-1 and ln|W| + ln|X'W^-1 X| without the
// cancellation of digits.
//
// A prior stands as nu0 earlier deviations with the mean square s0^2 would. So a variance with
// a prior has its greatest value on the scale of ln v, where for one level alone it is
// (nu0 s0^2 + sum of squares)/(nu0 + dof), the mean square of both together.
//
// Source: Patterson and Thompson, Biometrika 58, 1971 (from memory), with the constants
// of a public program, which the tests compare with; reduction to means of cells derived.
// Theory (8.3).
type state struct {
	v        []float64 // variances, outermost first
	fit      float64   // -2 ln L; infinite where the variances are impossible
	project  *mat.SymDense
	residual []float64 // P times the means
}

// covariance returns W at the variances v.
func (x *data) covariance(v []float64) *mat.SymDense {
	b, last := len(x.count), len(v)-1
	w := mat.NewSymDense(b, nil)
	for i := range b {
		for j := i; j < b; j++ {
			for k, g := range x.group {
				if g.of[i] == g.of[j] {
					w.SetSym(i, j, w.At(i, j)+v[k])
				}
			}
		}
		w.SetSym(i, i, w.At(i, i)+v[last]/x.count[i])
	}
	return w
}

// at returns the state at the variances v.
func (x *data) at(v []float64, priors []Spread) *state {
	last := len(v) - 1
	s := &state{v: v, fit: math.Inf(1)}
	if v[last] <= 0 {
		return s
	}
	b := len(x.count)
	n, within := float64(len(x.cell)), float64(len(x.cell)-b)
	fit := within*math.Log(v[last]) + x.within/v[last] + x.logFixed + (n-float64(b-x.free))*math.Log(2*math.Pi)
	for _, c := range x.count {
		fit += math.Log(c)
	}
	s.project, s.residual = mat.NewSymDense(b, nil), make([]float64, b)
	if x.free > 0 {
		var half, product, outer mat.Dense
		half.Mul(x.covariance(v), x.left)
		product.Mul(x.left.T(), &half)
		var chol mat.Cholesky
		var inverse mat.SymDense
		if !chol.Factorize(symmetric(&product)) || chol.InverseTo(&inverse) != nil {
			return s
		}
		half.Mul(x.left, &inverse)
		outer.Mul(&half, x.left.T())
		s.project = symmetric(&outer)
		r := mat.NewVecDense(b, s.residual)
		r.MulVec(s.project, mat.NewVecDense(b, x.mean))
		fit += chol.LogDet() + floats.Dot(x.mean, s.residual)
	}
	for k, prior := range priors {
		if prior.Dof > 0 {
			fit += prior.Dof * (math.Log(v[k]) + prior.Variance/v[k])
		}
	}
	if !math.IsNaN(fit) {
		s.fit = fit
	}
	return s
}

// symmetric returns a product that is symmetric but for rounding.
func symmetric(m *mat.Dense) *mat.SymDense {
	n, _ := m.Dims()
	out := mat.NewSymDense(n, nil)
	for i := range n {
		for j := i; j < n; j++ {
			out.SetSym(i, j, (m.At(i, j)+m.At(j, i))/2)
		}
	}
	return out
}

// normal returns the linear equations H v = q for the variances, which hold where
// the likelihood is greatest:
//
//	H_jk = tr(P A_j P A_k),   q_j = r' A_j r,   A = dW/dv, r = P times the means
//
// with the readings within the cells and the priors added. H is also the expected second
// derivative of -2 ln L, so that 2 H^-1 is the covariance of the variances.
//
// Source: Anderson, Ann. Stat. 1, 1973 (from memory); that P W P = P turns
// scoring into these equations, textbook.
func (x *data) normal(s *state, priors []Spread) (h *mat.SymDense, q []float64) {
	b, last := len(x.count), len(s.v)-1
	h, q = mat.NewSymDense(last+1, nil), make([]float64, last+1)
	for j := range last {
		cols := x.gather(j, s.project) // P Z_j
		q[j] = sumSquares(x.total(j, s.residual))
		for k := range j + 1 {
			var t float64
			for g := range x.group[j].n {
				t += sumSquares(x.total(k, cols[g]))
			}
			h.SetSym(j, k, t)
		}
		var t float64
		for g := range x.group[j].n {
			for c, p := range cols[g] {
				t += p * p / x.count[c]
			}
		}
		h.SetSym(j, last, t)
	}
	within := float64(len(x.cell) - b)
	t := within / sq(s.v[last])
	q[last] = x.within / sq(s.v[last])
	for i, r := range s.residual {
		q[last] += r * r / x.count[i]
		for j := range b {
			t += sq(s.project.At(i, j)) / (x.count[i] * x.count[j])
		}
	}
	h.SetSym(last, last, t)
	for k, prior := range priors {
		if prior.Dof > 0 {
			h.SetSym(k, k, h.At(k, k)+prior.Dof/sq(s.v[k]))
			q[k] += prior.Dof * prior.Variance / sq(s.v[k])
		}
	}
	return h, q
}

// total sums over the cells of each group of level k.
func (x *data) total(k int, cells []float64) []float64 {
	out := make([]float64, x.group[k].n)
	for c, v := range cells {
		out[x.group[k].of[c]] += v
	}
	return out
}

// gather sums the columns of m over the cells of each group of level k.
func (x *data) gather(k int, m *mat.SymDense) [][]float64 {
	out := make([][]float64, x.group[k].n)
	for g := range out {
		out[g] = make([]float64, len(x.count))
	}
	for c := range x.count {
		column := out[x.group[k].of[c]]
		for i := range column {
			column[i] += m.At(i, c)
		}
	}
	return out
}

func sumSquares(x []float64) float64 { return floats.Dot(x, x) }
