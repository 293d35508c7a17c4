package estimate

import (
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// Noise that neighbouring points share counts less than independent noise: the
// intervals must still hold the truth.
func TestCorrelatedNoiseCovers(t *testing.T) {
	d := exactDriver(law.Lossy, 0)
	freq := simulated.LogFreq(5, 1500, 24)
	in, all, white := 0, 0, 0
	const trials = 60
	for trial := range uint64(trials) {
		rng := rand.New(rand.NewPCG(trial, 9))
		z := simulated.Simulate(d, freq, 0, 0, 0.002, rng)
		clean := simulated.Simulate(d, freq, 0, 0, 0, nil)
		var last complex128
		const rho = 0.7
		for i := range z.Z { // a first-order autoregression with the variance that Sigma says
			e := complex(z.Sigma[i]*rng.NormFloat64(), z.Sigma[i]*rng.NormFloat64()) / abs(clean.Z[i])
			last = rho*last + complex(0.714143, 0)*e // sqrt(1 - rho^2)
			z.Z[i] = clean.Z[i] + last*abs(clean.Z[i])
		}
		got, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		if got.Quality.White {
			white++
		}
		for id, want := range map[param.ID]float64{param.Re: d.Re, param.Fs: d.Fs(), param.Qms: d.Qms(), param.Qes: d.Qes()} {
			e, _ := got.Parameters.Get(id)
			all++
			if e.Low <= want && want <= e.High {
				in++
			}
		}
	}
	if white > 0 {
		t.Errorf("correlated noise is called white in %d of %d", white, trials)
	}
	if part := float64(in) / float64(all); part < 0.92 {
		t.Errorf("%.0f %% covered", 100*part)
	}
}

func abs(z complex128) complex128 { return complex(cmplx.Abs(z), 0) }
