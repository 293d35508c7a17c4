package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// A counter that is off by a factor moves values by powers of it: theory (1.3), (1.4), (2.2), with the mass read from the
// ratio of two frequencies, which it leaves as it is. Where it was used for one of two sweeps only, the mass follows; how far
// is found by reading that sweep's frequencies wrongly and fitting again.
func TestErrorOfFrequencies(t *testing.T) {
	const std, dM = 0.002, 0.010
	d := exactDriver(law.Plain, 0)
	freq := simulated.LogFreq(10, 1000, 24)
	rng := rand.New(rand.NewPCG(5, 6))
	sweeps := []measured.Sweep{
		{Impedance: simulated.Simulate(d, freq, 0, 0, 0.0005, rng)},
		{Impedance: simulated.Simulate(d, freq, dM, 0, 0.0005, rng), Load: measured.Load{Kind: measured.AddedMass, Value: dM, Std: 1e-6}},
	}
	cond := measured.Conditions{Sd: param.Quantity{Value: 0.02}}
	fit := func(source string, sweeps ...measured.Sweep) (values, effect map[param.ID]float64) {
		f, err := Fit(sweeps, cond)
		if err != nil {
			t.Fatal(err)
		}
		values, effect = map[param.ID]float64{}, map[param.ID]float64{}
		for i, id := range f.Parameters.IDs {
			values[id] = f.Parameters.Scaled[i]
			for _, c := range f.Parameters.Components {
				if c.Source == source {
					effect[id] = c.Effect[i]
					if c.Part != param.BenchPart || c.Own != (source == "frequency, assumed") {
						t.Errorf("the component is %+v", c)
					}
				}
			}
		}
		return values, effect
	}
	both := []measured.Sweep{sweeps[0], sweeps[1]}
	for i := range both {
		both[i].Impedance.Frequency = measured.FrequencyError{Std: std}
	}
	_, effect := fit("frequency", both...)
	for id, power := range map[param.ID]float64{param.Re: 0, param.Fs: 1, param.Qms: 0, param.Qes: 0, param.Mms: 0, param.Cms: -2, param.Rms: 1,
		param.BL: 0.5, param.Vas: -2, param.Eta0: 1, param.Lces: -1, param.Cmes: -1} {
		if got := effect[id]; math.Abs(got+power*std) > 0.02*std { // what is read too low comes out too low
			t.Errorf("%v moves by %v, want %v", id, got, -power*std)
		}
	}

	one := []measured.Sweep{sweeps[0], sweeps[1]}
	one[0].Impedance.Frequency = measured.FrequencyError{Std: std, Assumed: true}
	right, effect := fit("frequency, assumed", one...)
	one[0].Impedance.Frequency = measured.FrequencyError{}
	low := make([]float64, len(freq))
	for i, f := range freq {
		low[i] = f / (1 + std)
	}
	one[0].Impedance.Freq = low
	wrong, _ := fit("", one...)
	for _, id := range []param.ID{param.Fs, param.Mms, param.BL} {
		if want := wrong[id] - right[id]; math.Abs(effect[id]-want) > 0.05*math.Abs(want) {
			t.Errorf("a counter used once moves %v by %v, fitted anew by %v", id, effect[id], want)
		}
	}
}
