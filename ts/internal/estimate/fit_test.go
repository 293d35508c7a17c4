package estimate

import (
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// exactDrivers have one coil of each law, without and with creep.
func exactDriver(law law.Law, creep float64) driver.Driver {
	return driver.Driver{Re: 5.46, BL: 11.6, Mms: 0.0882, Cms: 0.55e-3, Rms: 3.25, Creep: creep, Coil: law.Coil(testCoils[law.Name()])}
}

func relative(got, want float64) float64 { return math.Abs(got/want - 1) }

// Without noise the fit gives back the driver it was shown.
func TestFitExact(t *testing.T) {
	f := simulated.LogFreq(5, 2000, 24)
	const dM, sd, vb = 0.06, 0.052, 0.05
	for _, law := range law.Ladder {
		for _, creep := range []float64{0, 0.1} {
			d := exactDriver(law, creep)
			got, err := Fit([]measured.Sweep{
				{Impedance: simulated.Simulate(d, f, 0, 0, 0, nil)},
				{Impedance: simulated.Simulate(d, f, dM, 0, 0, nil), Load: measured.Load{Kind: measured.AddedMass, Value: dM}},
				{Impedance: simulated.Simulate(d, f, 0, defaultAirStiffness()*sd*sd/vb, 0, nil), Load: measured.Load{Kind: measured.KnownBox, Value: vb}},
			}, measured.Conditions{Sd: param.Quantity{Value: sd}})
			if err != nil {
				t.Errorf("%s, creep %v: %v", law.Name(), creep, err)
				continue
			}
			want := map[param.ID]float64{param.Re: d.Re, param.Fs: d.Fs(), param.Qms: d.Qms(), param.Qes: d.Qes(), param.Qts: d.Qts(), param.Mms: d.Mms, param.Cms: d.Cms, param.Rms: d.Rms, param.BL: d.BL,
				param.Vas: defaultAirStiffness() * sd * sd * d.Cms, param.Res: d.BL * d.BL / d.Rms, param.Lces: d.BL * d.BL * d.Cms, param.Cmes: d.Mms / d.BL / d.BL}
			for id, w := range want {
				e, ok := got.Parameters.Get(id)
				if !ok || relative(e.Value, w) > 1e-8 {
					t.Errorf("%s, creep %v: %v is %v, want %v (%+v)", law.Name(), creep, id, e.Value, w, got.Model)
				}
			}
			for _, w := range []float64{50, 1000, 10000} {
				if got, want := got.Coil.Impedance(w), d.Coil.Impedance(w); cmplx.Abs(got-want) > 1e-7*cmplx.Abs(want) {
					t.Errorf("%s, creep %v: the coil has %v ohm at %v rad/s, want %v", law.Name(), creep, got, w, want)
				}
			}
			if e, _ := got.Parameters.Get(param.Creep); math.Abs(e.Value-creep) > 1e-8 {
				t.Errorf("%s, creep %v: found creep %v", law.Name(), creep, e.Value)
			}
		}
	}
}

// A curve without inductance, or one that ends before inductance shows, has a
// resonance like any other.
func TestFitWithoutCoil(t *testing.T) {
	d := handmade.CourseWoofer // ZL = 0
	for _, hi := range []float64{60, 200, 2000} {
		for _, noise := range []float64{0, 0.002} {
			got, err := Fit([]measured.Sweep{{Impedance: simulated.Simulate(d, simulated.LogFreq(5, hi, 24), 0, 0, noise, rand.New(rand.NewPCG(1, 2)))}}, measured.Conditions{})
			if err != nil {
				t.Errorf("up to %v Hz, noise %v: %v", hi, noise, err)
				continue
			}
			for id, want := range map[param.ID]float64{param.Re: d.Re, param.Fs: d.Fs(), param.Qms: d.Qms(), param.Qes: d.Qes()} {
				e, _ := got.Parameters.Get(id)
				if noise == 0 && relative(e.Value, want) > 1e-8 || noise > 0 && math.Abs(e.Value-want) > 4*e.Std {
					t.Errorf("up to %v Hz, noise %v: %v is %v +- %v, want %v; %+v", hi, noise, id, e.Value, e.Std, want, got.Model)
				}
			}
		}
	}
}

// inputOf returns the input of a fit with memory of its own.
func inputOf(sweeps []measured.Sweep, cond measured.Conditions) input {
	return prepare(sweeps, cond, new(scratch))
}
