package ts

import (
	"math"
	"math/rand/v2"
	"testing"
)

// The likelihood of one law by its spectrum is that by factoring the matrix.
func TestSpectrumAgainstLikelihood(t *testing.T) {
	d := courseWithCoil()
	d.Creep = 0.1
	in := newInput([]Sweep{{Impedance: simulate(d, logFreq(5, 2000, 24), 0, 0, 0.002, rand.New(rand.NewPCG(3, 1)))}}, Conditions{})
	p := in.problem(form{coil: plainLaw{}}, false, 1)
	s := solve(p, in.start(p, in.outline), in.tol)
	r := in.reduce(s, in.pieces(s))
	none, _ := r.likelihood(sizes{}, false)
	if like, _ := r.withoutPieces(false); math.Abs(like-none) > 1e-9*math.Abs(none) {
		t.Errorf("without misfit: %v and %v", like, none)
	}
	for law, q := range laws {
		spectrum := r.spectrum(law)
		for _, tau := range []float64{q.lo, math.Sqrt(q.lo * q.hi), q.hi} {
			var all sizes
			all[law] = tau
			want, wantNoise := r.likelihood(all, false)
			like, noise := r.likeliest(false, func(noise float64) float64 {
				return spectrum.gain(tau, noise) - r.dof*math.Log(noise) - r.total/(2*noise*noise)
			})
			if math.Abs(like-want) > 1e-8*math.Abs(want) || noise != wantNoise {
				t.Errorf("law %d, size %v: %v at the noise %v, by the matrix %v at %v", law, tau, like, noise, want, wantNoise)
			}
		}
		if spectrum.values == nil {
			t.Errorf("law %d has no spectrum", law)
		}
	}
}
