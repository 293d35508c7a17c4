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

// heated is a sweep during which the coil warmed: Re rises by 1 % from the first
// frequency to the last.
func heated(seed uint64) Impedance {
	d := courseWithCoil()
	d.Creep = 0.1
	z := simulate(d, logFreq(4, 2000, 24), 0, 0, 0.002, rand.New(rand.NewPCG(seed, 77)))
	n := float64(z.Len() - 1)
	for i := range z.Z {
		z.Z[i] += complex(0.01*d.Re*float64(i)/n, 0)
	}
	return z
}

// A misfit that is suspected but not believed leaves a doubt of its own, and a
// believed one does not leave both.
func TestSuspectedMisfitIsADoubt(t *testing.T) {
	var suspected, believed int
	for seed := range uint64(30) {
		f, err := Fit([]Sweep{{Impedance: heated(seed)}}, Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		has := map[string]float64{}
		at := f.Parameters.Index(Re)
		for _, c := range f.Parameters.Components {
			has[c.Source] = c.Effect[at]
		}
		_, s := has["suspected misfit"]
		_, b := has["heating during the sweep"]
		switch {
		case s && b:
			t.Errorf("seed %d: the misfit is both believed and suspected", seed)
		case s:
			suspected++
			if has["suspected misfit"] == 0 {
				t.Errorf("seed %d: the suspicion does not touch Re", seed)
			}
		case b:
			believed++
		}
	}
	if suspected < 3 || believed < 3 {
		t.Errorf("of 30 heated sweeps %d are suspected and %d believed", suspected, believed)
	}
}

// What a misfit is found to leave counts wideDoubt times: the doubt of its
// pieces is larger than their share of the covariance.
func TestMisfitIsWidened(t *testing.T) {
	for seed := range uint64(30) {
		in := newInput([]Sweep{{Impedance: heated(seed)}}, Conditions{})
		all := in.candidates(in.ladder())
		if !all[0].misfit.any() {
			continue
		}
		final := in.finish(all[0])
		m := &member{solution: final, misfit: all[0].misfit, derived: in.derive(final, in.reach())}
		if err := m.spread(in); err != nil {
			t.Fatal(err)
		}
		wide := m.effects
		m.misfit = misfit{}
		if err := m.spread(in); err != nil {
			t.Fatal(err)
		}
		for i, c := range m.effects {
			want := 1.0
			if c.Part == ModelPart {
				want = wideDoubt
			}
			for k, e := range c.Effect {
				if math.Abs(wide[i].Effect[k]-want*e) > 1e-12*math.Abs(e) {
					t.Fatalf("%s: %v, want %v times %v", c.Source, wide[i].Effect[k], want, e)
				}
			}
		}
		return
	}
	t.Error("no misfit was believed")
}
