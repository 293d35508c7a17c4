package estimate

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// A resistor that may be wrong cannot be told by the sweep itself: all values of
// the curve scale alike. So the fit must find what it finds without that doubt,
// only less surely. A fit that takes the doubt at the measured points, noise and
// all, comes out low by N u^2, about 1.6 % here (D'Agostini 1994, from memory).
func TestBenchErrorsDoNotPullTheFit(t *testing.T) {
	d := exactDriver(law.Plain, 0)
	const r, gain = 10.0, 0.001
	for _, magnitudeOnly := range []bool{false, true} {
		rng := rand.New(rand.NewPCG(3, 4))
		z := simulated.Simulate(d, simulated.LogFreq(5, 2000, 60), 0, 0, 0.002, rng)
		if magnitudeOnly {
			for i := range z.Z {
				z.Z[i] = complex(cmplx.Abs(z.Z[i]), 0)
			}
			z.MagnitudeOnly = true
		}
		plain, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		resistor := measured.Systematic{Source: "resistor", Effect: make([]complex128, z.Len())}
		channel := measured.Systematic{Source: "channels", Effect: make([]complex128, z.Len())}
		for i, v := range z.Z {
			resistor.Effect[i] = 0.006 * v
			channel.Effect[i] = gain * v * (1 + v/r)
		}
		z.Systematic = []measured.Systematic{resistor, channel}
		doubted, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Res} {
			a, _ := plain.Parameters.Get(id)
			b, _ := doubted.Parameters.Get(id)
			// The channel's gain bends the curve, so that the data may say a
			// little about it: less than it may be wrong by.
			if math.Abs(b.Value/a.Value-1) > 0.3*gain*(1+a.Value/r) {
				t.Errorf("magnitude only %v: %v is %v with the doubt, %v without", magnitudeOnly, id, b.Value, a.Value)
			}
		}
		if e, _ := doubted.Parameters.Get(param.Re); e.Budget.Bench < 0.0055*e.Value {
			t.Errorf("the resistor adds only %v to Re", e.Budget.Bench)
		}
	}
}

// Inputs that differ in gain and AC coupling bend the curve of a driver, 10 ohm first in series: a fit that knows
// that they may finds the difference and holds the truth; one that does not is wrong.
func TestInputsThatDiffer(t *testing.T) {
	const r, fn, fd = 10.0, 2.6, 2.0 // Hz
	d := exactDriver(law.Lossy, 0.1)
	truth := simulated.Simulate(d, simulated.LogFreq(5, 2000, 48), 0, 0, 1e-4, rand.New(rand.NewPCG(8, 9)))
	z := truth
	z.Z = slices.Clone(truth.Z)
	coupling := measured.Systematic{Source: measured.ChannelSource, Fitted: true, Effect: make([]complex128, z.Len()), Bend: make([]complex128, z.Len())}
	for i, f := range z.Freq {
		h := truth.Z[i] / (r + truth.Z[i]) * complex(fd, f) / complex(fn, f)
		z.Z[i] = r * h / (1 - h)
		size := 0.5 / complex(fd, f)
		coupling.Effect[i], coupling.Bend[i] = size*r*h/((1-h)*(1-h)), -size*h/(1-h)
	}
	fit := func(z measured.Impedance) param.Parameters {
		f, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		return f.Parameters
	}
	misled := fit(z)
	z.Systematic = []measured.Systematic{coupling}
	found, want := fit(z), fit(truth)
	for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes} {
		e, _ := found.Get(id)
		w, _ := want.Get(id)
		if w.Value < e.Low || w.Value > e.High || e.High-e.Low > 0.05*e.Value {
			t.Errorf("%v is %v (%v to %v), without the error %v", id, e.Value, e.Low, e.High, w.Value)
		}
	}
	if e, _ := misled.Get(param.Fs); math.Abs(e.Value-d.Fs())/d.Fs() < 1e-3 {
		t.Errorf("the error moves Fs by %v only, so that this shows nothing", e.Value-d.Fs())
	}
}
