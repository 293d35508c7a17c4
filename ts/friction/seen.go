package friction

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// seen is one point of the mechanical impedance of a sweep, kg/s, with what a unit of each unknown adds to it.
type seen struct {
	weight float64
	zm     complex128
	of     []complex128
}

// seenNear returns the points around the resonance, where w is the angular frequency (rad/s), x the excursion (m, peak), with
// what of says of the unknowns. A point has the weight that a scatter of Z in parts of |Z| gives it, so that nearly all comes
// from where the cone moves most.
func (p played) seenNear(of func(w, x float64, zm complex128) []complex128) []seen {
	var points []seen
	for _, f := range p.freq {
		if math.Abs(math.Log2(f/p.fs)) > nearResonance || p.outside(f) {
			continue
		}
		zm, speed := p.moved(f)
		w := 2 * math.Pi * f
		noise := cmplx.Abs(zm*zm*p.at(p.z, f)) / (p.bl * p.bl)
		points = append(points, seen{1 / (noise * noise), zm, of(w, speed/w, zm)})
	}
	return points
}

// solve returns the n unknowns by weighted least squares, and their covariance by the scatter that is left; false where the
// points do not determine them.
func solve(points []seen, n int) (x []float64, cov *mat.SymDense, ok bool) {
	scale := make([]float64, n) // of an unknown: masses and squares of metres are far apart
	for _, t := range points {
		for i, a := range t.of {
			scale[i] += t.weight * real(a*cmplx.Conj(a))
		}
	}
	for i, square := range scale {
		if square == 0 {
			return nil, nil, false
		}
		scale[i] = math.Sqrt(square)
	}
	q, g := mat.NewSymDense(n, nil), mat.NewVecDense(n, nil)
	for _, t := range points {
		for i, a := range t.of {
			g.SetVec(i, g.AtVec(i)+t.weight*real(cmplx.Conj(a)*t.zm)/scale[i])
			for j := i; j < n; j++ {
				q.SetSym(i, j, q.At(i, j)+t.weight*real(cmplx.Conj(a)*t.of[j])/(scale[i]*scale[j]))
			}
		}
	}
	var c mat.Cholesky
	var v mat.VecDense
	cov = mat.NewSymDense(n, nil)
	if 2*len(points) <= n || !c.Factorize(q) || c.SolveVecTo(&v, g) != nil || c.InverseTo(cov) != nil {
		return nil, nil, false
	}
	x = make([]float64, n)
	for i := range x {
		x[i] = v.AtVec(i) / scale[i]
	}
	chi2 := 0.0
	for _, t := range points {
		off := t.zm
		for i, a := range t.of {
			off -= complex(x[i], 0) * a
		}
		chi2 += t.weight * real(off*cmplx.Conj(off))
	}
	scatter := chi2 / float64(2*len(points)-n)
	for i := range n {
		for j := i; j < n; j++ {
			cov.SetSym(i, j, cov.At(i, j)*scatter/(scale[i]*scale[j]))
		}
	}
	return x, cov, true
}
