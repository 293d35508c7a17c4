package lsq

import (
	"slices"
	"testing"
)

// The Jacobian that is kept is that at the solution, also after steps that were tried and not taken; without being
// asked for, or asked for by the problem before, there is none.
func TestKeep(t *testing.T) {
	var w Solver
	for _, name := range []string{"Gauss3", "MGH09", "Thurber"} {
		p := readNIST(t, name)
		for k := range p.start {
			var kept, res Result
			if err := w.Solve(&kept, p, p.start[k], Settings{Keep: true}); err != nil {
				t.Fatal(err)
			}
			m, n := p.Dims()
			r, jac := make([]float64, m), make([]float64, m*n)
			p.Eval(r, jac, kept.X)
			if !slices.Equal(jac, kept.Jacobian) {
				t.Errorf("%s: the Jacobian that was kept is another", name)
			}
			if err := w.Solve(&res, p, p.start[k], Settings{}); err != nil {
				t.Fatal(err)
			}
			if res.Jacobian != nil {
				t.Errorf("%s: a Jacobian that nobody asked for", name)
			}
			if !slices.Equal(res.X, kept.X) || !slices.Equal(jac, kept.Jacobian) {
				t.Errorf("%s: a later solution changed what was kept", name)
			}
		}
	}
}
