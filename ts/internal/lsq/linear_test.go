package lsq

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The step must be the best of its length: shorter or equal within a tenth, with
// the fall that direct multiplication gives, and not beaten by any other of
// its length. Full-rank, ill-conditioned and singular matrices.
func TestStepIsBest(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 4))
	const n = 4
	var l linear
	l.resize(n)
	diag := []float64{1, 10, 0.1, 3}
	after := func(z []float64) float64 { // |q + Tz|^2
		var sum float64
		for i := range n {
			s := l.q[i]
			for j := i; j < n; j++ {
				s += l.r[i*n+j] / diag[j] * z[j]
			}
			sum += s * s
		}
		return sum
	}
	for _, last := range []float64{1, 1e-9, 0} {
		for range 20 {
			for i := range n {
				l.q[i] = rng.NormFloat64()
				for j := range n {
					l.r[i*n+j] = 0
					if j >= i {
						l.r[i*n+j] = rng.NormFloat64() * diag[j]
					}
				}
			}
			// The first unknown's column becomes nearly that of the last one.
			for i := range n {
				l.r[i*n+n-1] = l.r[i*n]*diag[n-1]/diag[0] + last*l.r[i*n+n-1]
			}
			l.scaleBy(diag)
			if last == 0 && l.rank() != n-1 {
				t.Fatalf("rank %d of a matrix with two equal columns", l.rank())
			}
			step, other := make([]float64, n), make([]float64, n)
			for _, radius := range []float64{0.01, 0.3, 2, 1e12} {
				fall, full := l.stepTo(step, radius)
				length := norm(step)
				if length > 1.1001*radius || !full && length < 0.8999*radius {
					t.Errorf("step of length %v for the radius %v", length, radius)
				}
				before := norm(l.q) * norm(l.q)
				// The singular step is exact up to the squared cut only.
				if got := before - after(step); math.Abs(got-fall) > 1e-6*before {
					t.Errorf("last %v, radius %v: fall %v, said to be %v", last, radius, got, fall)
				}
				for range 50 {
					for j := range other {
						other[j] = step[j] + 0.1*length*rng.NormFloat64()
					}
					scale := length / norm(other)
					for j := range other {
						other[j] *= scale
					}
					if after(other) < after(step)-1e-6*before {
						t.Errorf("last %v, radius %v: a better step of the same length exists", last, radius)
					}
				}
			}
		}
	}
}
