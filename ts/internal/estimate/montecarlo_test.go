package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// JCGM 101: the distribution itself instead of its first two moments. Vas goes
// with the fourth power of the diameter and both with the mass; the interval from
// linear propagation on the logarithmic scale must be that of a Monte Carlo to
// within 2 % of its half-width at 1.5 % of diameter and 1 % of mass (normal).
func TestLinearPropagationAgainstMonteCarlo(t *testing.T) {
	d := exactDriver(law.Lossy, 0)
	const sd, dM, relSd, relMass = 0.052, 0.06, 0.03, 0.01
	freq := simulated.LogFreq(5, 2000, 12)
	got, err := Fit([]measured.Sweep{
		{Impedance: simulated.Simulate(d, freq, 0, 0, 0, nil)},
		{Impedance: simulated.Simulate(d, freq, dM, 0, 0, nil), Load: measured.Load{Kind: measured.AddedMass, Value: dM, Std: relMass * dM}},
	}, measured.Conditions{Sd: param.Quantity{Value: sd, Std: relSd * sd}})
	if err != nil {
		t.Fatal(err)
	}
	rng := rand.New(rand.NewPCG(1, 1))
	const n = 200000
	mms, vas := make([]float64, n), make([]float64, n)
	for i := range n {
		m := 1 + relMass*rng.NormFloat64()
		a := 1 + relSd*rng.NormFloat64()
		mms[i] = d.Mms * m
		vas[i] = defaultAirStiffness() * sd * sd * a * a * d.Cms / m
	}
	for id, sample := range map[param.ID][]float64{param.Mms: mms, param.Vas: vas} {
		slices.Sort(sample)
		lo, hi := sample[n*25/1000], sample[n*975/1000]
		e, _ := got.Parameters.Get(id)
		half := (hi - lo) / 2
		t.Logf("%v: ends differ by %.2f and %.2f %% of the half-width", id, 100*(e.Low-lo)/half, 100*(e.High-hi)/half)
		if math.Abs((e.High-e.Low)/2-half) > 0.02*half || math.Abs(e.Low-lo) > 0.05*half || math.Abs(e.High-hi) > 0.05*half {
			t.Errorf("%v: %v to %v, Monte Carlo %v to %v", id, e.Low, e.High, lo, hi)
		}
	}
}

// A curve with a Q that no driver has is a fault of the bench.
func TestAbsurdValues(t *testing.T) {
	d := driver.Driver{Re: 50, BL: 1.2, Mms: 0.05, Cms: 0.5e-3, Rms: 0.07, Coil: driver.LossyCoil{K: 0.01, N: 0.7}}
	_, err := Fit([]measured.Sweep{{Impedance: simulated.Simulate(d, simulated.LogFreq(5, 2000, 96), 0, 0, 0, nil)}}, measured.Conditions{})
	if r, ok := err.(*notice.Notice); !ok || r.Code != "absurd-value" {
		t.Errorf("Qms %.3g, Qes %.3g: %v", d.Qms(), d.Qes(), err)
	}
}
