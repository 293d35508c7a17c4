package change

import (
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
	"gonum.org/v1/gonum/stat/distuv"
)

// NullTest asks whether the coil and its resistance are what they were. If they
// are, there is no evidence against an unchanged motor, which a surround repair leaves
// alone. If they are not, "BL unchanged" is an assumption without support.
type NullTest struct {
	Compared []param.ID // Re, and L1k, R1k where known
	Chi2     float64
	DoF      int
	P        float64 // probability of a difference this large if nothing changed
}

// Rejected says that coil or resistance have changed, at 95 %.
func (n NullTest) Rejected() bool { return n.P < 0.05 }

// nullTest returns chi2 = d' V^-1 d over Re and the coil.
func nullTest(f frame) NullTest {
	var at []int
	var n NullTest
	for i, id := range f.IDs {
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
	n.Chi2, n.P = chi2Of(d, v, f.scale)
	return n
}

// Apart asks whether two drivers differ at all: chi2 over everything that sweeps of both
// show, and the probability of a difference this large between equal drivers. Direct is what the curves show by themselves of Re, or nil.
func Apart(left, right param.Parameters, direct *param.Direct) (chi2 float64, dof int, p float64) {
	f := newFrame(left, right, direct)
	dof = len(f.IDs)
	chi2, p = chi2Of(mat.NewVecDense(dof, f.D), f.V, f.scale)
	return chi2, dof, p
}

// certain is the distribution where the uncertainty itself is known well.
var certain = stat.Dist{Dof: math.Inf(1)}

// chi2Of returns d' V^-1 d and the probability of exceeding it; 0 where V is no
// covariance, so that nothing is called unchanged.
func chi2Of(d *mat.VecDense, v *mat.SymDense, s stat.Dist) (chi2, p float64) {
	var chol mat.Cholesky
	w := mat.NewVecDense(d.Len(), nil)
	if !chol.Factorize(v) || chol.SolveVecTo(w, d) != nil {
		return 0, 0
	}
	chi2 = mat.Dot(d, w)
	return chi2, tailOfChi2(chi2, d.Len(), s)
}

// tailOfChi2 returns the probability of exceeding chi2 with n degrees of
// freedom; where the covariance itself rests on few degrees of freedom m, that
// of the F distribution of chi2/n (Hotelling's statistic with its small factor
// (m-n+1)/m left out, which is the cautious side for m >> n).
func tailOfChi2(chi2 float64, n int, s stat.Dist) float64 {
	if n == 0 {
		return 1
	}
	if math.IsInf(s.Dof, 1) {
		return distuv.ChiSquared{K: float64(n)}.Survival(chi2)
	}
	return distuv.F{D1: float64(n), D2: s.Dof}.Survival(chi2 / float64(n))
}
