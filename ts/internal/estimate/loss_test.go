package estimate

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// A mechanical resistance that rises in proportion to frequency is one of the
// laws that published comparisons set beside creep. The sweep is written from the
// mechanical side, by the definition of the quantities, and the fit finds the
// resistance at resonance.
func TestRisingLoss(t *testing.T) {
	const (
		re, bl, m, c = 5.5, 9.0, 0.030, 0.0008
		slope        = 0.6 // part of the resistance at resonance that is proportional to frequency
		rms          = 1.5
		noise        = 0.001
	)
	ws := 1 / math.Sqrt(m*c)
	wantQms, wantQes := ws*m/rms, ws*m*re/(bl*bl)
	rng := rand.New(rand.NewPCG(4, 9))
	freq := simulated.LogFreq(5, 2000, 24)
	z, sigma := make([]complex128, len(freq)), make([]float64, len(freq))
	for i, f := range freq {
		w := 2 * math.Pi * f
		r := rms * (1 - slope + slope*w/ws)
		z[i] = complex(re, w*0.0004) + complex(bl*bl, 0)/complex(r, w*m-1/(w*c))
		sigma[i] = noise * cmplx.Abs(z[i])
		z[i] += complex(sigma[i]*rng.NormFloat64(), sigma[i]*rng.NormFloat64())
	}
	sweep, err := measured.NewImpedance(freq, z, sigma)
	if err != nil {
		t.Fatal(err)
	}
	f, err := Fit([]measured.Sweep{{Impedance: sweep}}, measured.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if !f.Model.RisingLoss {
		t.Errorf("the model is %+v", f.Model)
	}
	for id, want := range map[param.ID]float64{param.Re: re, param.Fs: ws / (2 * math.Pi), param.Qms: wantQms, param.Qes: wantQes} {
		e, _ := f.Parameters.Get(id)
		if want < e.Low || want > e.High || e.Std > 0.005*e.Value {
			t.Errorf("%v = %v (%v to %v), want %v", id, e.Value, e.Low, e.High, want)
		}
	}
	// Without the rise the refinement is not wanted.
	d := handmade.CourseWithCoil()
	d.Creep = 0.1
	f, err = Fit([]measured.Sweep{{Impedance: simulated.Simulate(d, freq, 0, 0, noise, rng)}}, measured.Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	if f.Model.RisingLoss {
		t.Errorf("a suspension with creep alone: %+v", f.Model)
	}
}
