package study

import (
	"math"
	"testing"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/optimize"
)

// dense is -2 ln L of the values by the definition, with the covariance of all readings and no
// reduction to cells, restricted or not:
//
//	ln|V| + r'V^-1 r + N ln 2 pi,   restricted also ln|X'V^-1 X| - p ln 2 pi
func dense(d *Design, values, v []float64, restricted bool) float64 {
	n, p, last := len(values), len(d.drivers), len(v)-1
	cov, x := mat.NewSymDense(n, nil), mat.NewDense(n, p, nil)
	for i := range n {
		for j := i; j < n; j++ {
			for k := range d.group {
				if d.group[k].of[d.cell[i]] == d.group[k].of[d.cell[j]] {
					cov.SetSym(i, j, cov.At(i, j)+v[k])
				}
			}
		}
		cov.SetSym(i, i, cov.At(i, i)+v[last])
		x.Set(i, d.driver[d.cell[i]], 1)
	}
	var chol mat.Cholesky
	if !chol.Factorize(cov) {
		return math.Inf(1)
	}
	var inv, info mat.Dense
	if chol.SolveTo(&inv, x) != nil {
		return math.Inf(1)
	}
	info.Mul(x.T(), &inv)
	var b mat.VecDense
	y := mat.NewVecDense(n, values)
	var right, r, s mat.VecDense
	right.MulVec(inv.T(), y)
	if b.SolveVec(&info, &right) != nil {
		return math.Inf(1)
	}
	r.MulVec(x, &b)
	r.SubVec(y, &r)
	if chol.SolveVecTo(&s, &r) != nil {
		return math.Inf(1)
	}
	out := chol.LogDet() + mat.Dot(&r, &s) + float64(n)*math.Log(2*math.Pi)
	if restricted {
		det, _ := mat.LogDet(&info)
		out += det - float64(p)*math.Log(2*math.Pi)
	}
	return out
}

// lowest minimises dense by Nelder and Mead over standard deviations.
func lowest(t *testing.T, d *Design, values, start []float64, restricted bool) (v []float64, fit float64) {
	t.Helper()
	squares := func(x []float64) []float64 {
		out := make([]float64, len(x))
		for i := range x {
			out[i] = x[i] * x[i]
		}
		return out
	}
	x := make([]float64, len(start))
	for i := range x {
		x[i] = math.Sqrt(start[i])
	}
	for range 4 { // anew from where it stops, as the simplex may collapse
		r, err := optimize.Minimize(optimize.Problem{Func: func(x []float64) float64 { return dense(d, values, squares(x), restricted) }},
			x, &optimize.Settings{MajorIterations: 5000, Converger: &optimize.FunctionConverge{Absolute: 1e-13, Iterations: 300}}, &optimize.NelderMead{})
		if err != nil {
			t.Fatal(err)
		}
		x, fit = r.X, r.F
	}
	return squares(x), fit
}

// TestLikelihoodByDefinition: the likelihood that is computed from means of cells is that of the definition,
// and no other variances are more likely.
func TestLikelihoodByDefinition(t *testing.T) {
	for _, name := range []string{"dyestuff-unbalanced", "dyestuff2", "pastes-unbalanced", "bench"} {
		levels, places, values := load(t, name)
		y := values["value"]
		if name == "bench" {
			y = values["qms"]
		}
		d := design(t, levels, places)
		n := analyse(t, d, y)
		near(t, name+" at the estimate", n.Fit, dense(d, y, n.state.v, true), 1e-9)
		elsewhere := []float64{0.7, 0.4, 0.2, 0.1}[:len(n.state.v)]
		for k := range elsewhere {
			elsewhere[k] *= n.Total().Variance
		}
		none := make([]Spread, len(levels))
		near(t, name+" elsewhere", n.data.at(elsewhere, none).fit, dense(d, y, elsewhere, true), 1e-9)
		v, fit := lowest(t, d, y, elsewhere, true)
		if fit < n.Fit-1e-7 {
			t.Errorf("%s: %v is more likely than %v by %v", name, v, n.state.v, n.Fit-fit)
		}
		for k := range v {
			if math.Abs(v[k]-n.state.v[k]) > 1e-4*n.Total().Variance {
				t.Errorf("%s level %d: %v by definition, got %v", name, k, v[k], n.state.v[k])
			}
		}
	}
}

// TestMaximumLikelihood holds the definition itself against the unrestricted estimates that
// MixedModels.jl (test/pls.jl) and lme4 print: standard deviations and -2 ln L.
func TestMaximumLikelihood(t *testing.T) {
	for _, c := range []struct {
		name string
		std  []float64
		fit  float64
	}{
		{"dyestuff", []float64{37.260344, 49.510100}, 327.327060},
		{"dyestuff2", []float64{0, math.Sqrt(13.346099)}, 162.873037},
		{"pastes", []float64{1.095061, 2.904078, 0.823407}, 247.994466},
	} {
		levels, places, values := load(t, c.name)
		d := design(t, levels, places)
		start := make([]float64, len(c.std))
		for k := range start {
			start[k] = 1.3*c.std[k]*c.std[k] + 0.1
		}
		v, fit := lowest(t, d, values["value"], start, false)
		near(t, c.name+" -2 ln L", fit, c.fit, 3e-9)
		for k, want := range c.std {
			if math.Abs(math.Sqrt(v[k])-want) > 2e-5*c.std[len(c.std)-1] {
				t.Errorf("%s level %d: %.6f, printed %.6f", c.name, k, math.Sqrt(v[k]), want)
			}
		}
	}
}

// TestScoringFindsTheBest: from other starts the same variances are found, on many small
// unbalanced data sets.
func TestScoringFindsTheBest(t *testing.T) {
	r := random(1)
	d := threeLevels(t, [][]int{{2, 3}, {1, 2, 3}, {2}, {1, 1}})
	none := make([]Spread, 3)
	for i := range 300 {
		n := analyse(t, d, draw(d, []float64{0.5, 1, 0.3}, r).values)
		total := n.Total().Variance
		for _, start := range [][]float64{{0, 0, total}, {total, 0.01 * total, 0.01 * total}, {0.01 * total, total, 0.01 * total}} {
			if s := n.data.maximise(start, none, hold{}); s.fit < n.Fit-1e-7 {
				t.Errorf("set %d: %v is more likely than %v", i, s.v, n.state.v)
			}
		}
	}
}
