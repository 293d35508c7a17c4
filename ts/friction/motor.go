package friction

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/mat"
)

// seen is one point of the mechanical impedance of a sweep, kg/s, with what each unknown adds to it.
type seen struct {
	weight float64
	zm     complex128
	of     []complex128
}

// unevenMotor returns by how much the force factor changes with the square of the excursion, BL (1 + b x^2), in 1/m^2, and
// its standard deviation; false where the sweeps do not determine it. To the fundamental of an excursion of x (peak) the force
// factor is BL (1 + b x^2/4) for the voltage and for the current in step with the velocity, and BL (1 + 3/4 b x^2) for the
// current in step with the excursion. So the mechanical impedance BL^2/(Z - Ze) that is seen is, to first order,
//
//	Zm = R + jwM - jK/w - jk x^2/w - b x^2 (Re Zm/2 + j Im Zm)
//
// with the excursion at each frequency, which falls fast above the resonance. Mass, k and b are those of all sweeps, K and R
// of each. Theory (9.12). Derived, from the averages of sin^4 and of sin^2 cos^2.
func unevenMotor(all []played) (b, std float64, ok bool) {
	n := 3 + 2*len(all)
	var points []seen
	scale := make([]float64, n) // of an unknown: masses and squares of metres are far apart
	for s, p := range all {
		for _, f := range p.drive.Freq {
			if math.Abs(math.Log2(f/p.fs)) > nearResonance || p.outside(f) {
				continue
			}
			zm, speed := p.moved(f)
			w := 2 * math.Pi * f
			x2 := speed * speed / (w * w)
			noise := cmplx.Abs(zm*zm*p.at(p.z, f)) / (p.bl * p.bl)
			t := seen{1 / (noise * noise), zm, make([]complex128, n)}
			t.of[0], t.of[1], t.of[2] = complex(0, w), complex(0, -x2/w), -complex(x2, 0)*complex(real(zm)/2, imag(zm))
			t.of[3+2*s], t.of[4+2*s] = complex(0, -1/w), 1
			for i, a := range t.of {
				scale[i] += t.weight * real(a*cmplx.Conj(a))
			}
			points = append(points, t)
		}
	}
	for i, square := range scale {
		if square == 0 {
			return 0, 0, false
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
	var x mat.VecDense
	var v mat.SymDense
	if 2*len(points) <= n || !c.Factorize(q) || c.SolveVecTo(&x, g) != nil || c.InverseTo(&v) != nil {
		return 0, 0, false
	}
	chi2 := 0.0
	for _, t := range points {
		off := t.zm
		for i, a := range t.of {
			off -= complex(x.AtVec(i)/scale[i], 0) * a
		}
		chi2 += t.weight * real(off*cmplx.Conj(off))
	}
	return x.AtVec(2) / scale[2], math.Sqrt(chi2/float64(2*len(points)-n)*v.At(2, 2)) / scale[2], true
}
