package lsq

import (
	"fmt"
	"math"
)

// checkJacobian compares the Jacobian that p gives at x with differences of its
// residuals and returns an error that names the worst element if they are
// apart by more than tol times the longest element of that column. It also
// finds residuals that change when a Jacobian is asked for, elements that were
// not written and a changed x. x should not be the
// place where a column vanishes.
//
// The differences are central with steps h and h/2 and extrapolated to h = 0;
// their own error is about 1e-10 of the scale of a well-behaved column.
func checkJacobian(p Problem, x []float64, tol float64) error {
	m, n := p.Dims()
	r, again := filled(m), filled(m)
	jac := filled(n * m)
	at := append([]float64(nil), x...)
	p.Eval(r, nil, at)
	p.Eval(again, jac, at)
	for j := range x {
		if at[j] != x[j] {
			return fmt.Errorf("unknown %d was changed by the evaluation", j)
		}
	}
	for i := range r {
		if !(r[i] == again[i]) {
			return fmt.Errorf("residual %d is %v alone and %v with the Jacobian", i, r[i], again[i])
		}
	}
	var (
		up, down = filled(m), filled(m)
		diff     = filled(m)
	)
	central := func(j int, h float64) {
		at[j] = x[j] + h
		hi := at[j]
		p.Eval(up, nil, at)
		at[j] = x[j] - h
		lo := at[j]
		p.Eval(down, nil, at)
		at[j] = x[j]
		for i := range up {
			up[i] = (up[i] - down[i]) / (hi - lo)
		}
	}
	for j := range n {
		h := 1e-4 * math.Abs(x[j])
		if h == 0 {
			h = 1e-4
		}
		central(j, h)
		copy(diff, up)
		central(j, h/2)
		var scale float64
		for i := range diff {
			diff[i] = up[i] + (up[i]-diff[i])/3
			scale = max(scale, math.Abs(diff[i]))
		}
		for i, want := range diff {
			if got := jac[j*m+i]; !(math.Abs(got-want) <= tol*scale) {
				return fmt.Errorf("derivative of residual %d by unknown %d is given as %v, differences give %v", i, j, got, want)
			}
		}
	}
	return nil
}

func filled(n int) []float64 {
	v := make([]float64, n)
	for i := range v {
		v[i] = math.NaN()
	}
	return v
}

// solveAlone minimises the sum of squares of p from x0 with a workspace of its own.
// See Solver.Solve.
func solveAlone(p Problem, x0 []float64, s Settings) (*Result, error) {
	var w Solver
	res := new(Result)
	if err := w.Solve(res, p, x0, s); err != nil {
		return nil, err
	}
	return res, nil
}
