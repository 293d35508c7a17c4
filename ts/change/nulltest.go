package change

import (
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// NullTest asks whether the coil and its resistance are what they were. If they
// are, nothing speaks against an unchanged motor: what a surround repair leaves
// alone. If they are not, "BL unchanged" is an assumption without support.
type NullTest struct {
	Compared []param.ID // Re, and L1k, R1k where known
	Chi2     float64
	DoF      int
	P        float64 // probability of a difference this large if nothing changed
}

// Doubt says that coil or resistance have changed, at 95 %.
func (n NullTest) Doubt() bool { return n.P < 0.05 }

// nullTest returns chi2 = d' V^-1 d over Re and the coil.
func nullTest(f frame) NullTest {
	var at []int
	var n NullTest
	for i, id := range f.Ids {
		if id == param.Re || id == param.L1k || id == param.R1k {
			at = append(at, i)
			n.Compared = append(n.Compared, id)
		}
	}
	n.DoF = len(at)
	d := mat.NewVecDense(n.DoF, nil)
	v := mat.NewSymDense(n.DoF, nil)
	for k, i := range at {
		d.SetVec(k, f.D[i])
		for l := k; l < n.DoF; l++ {
			v.SetSym(k, l, f.V.At(i, at[l]))
		}
	}
	var chol mat.Cholesky
	if !chol.Factorize(v) {
		return n // P = 0: doubt
	}
	w := mat.NewVecDense(n.DoF, nil)
	if chol.SolveVecTo(w, d) == nil {
		n.Chi2 = mat.Dot(d, w)
	}
	n.P = TailOfChi2(n.Chi2, n.DoF, f.Spread)
	return n
}
