package ts

import (
	"math"
	"math/rand/v2"
	"testing"
)

// exactDrivers have one coil of each law, without and with creep.
func exactDriver(law coilLaw, creep float64) Driver {
	return Driver{Re: 5.46, BL: 11.6, Mms: 0.0882, Cms: 0.55e-3, Rms: 3.25, Creep: creep, Coil: law.coil(testCoils[law.name()])}
}

func relative(got, want float64) float64 { return math.Abs(got/want - 1) }

// Without noise the fit gives back the driver it was shown.
func TestFitExact(t *testing.T) {
	f := logFreq(5, 2000, 24)
	const dM, sd, vb = 0.06, 0.052, 0.05
	for _, law := range coilLadder {
		for _, creep := range []float64{0, 0.1} {
			d := exactDriver(law, creep)
			got, err := Fit([]Sweep{
				{Impedance: simulate(d, f, 0, 0, 0, nil)},
				{Impedance: simulate(d, f, dM, 0, 0, nil), Load: Load{Kind: AddedMass, Value: dM}},
				{Impedance: simulate(d, f, 0, defaultAirStiffness()*sd*sd/vb, 0, nil), Load: Load{Kind: KnownBox, Value: vb}},
			}, Conditions{Sd: Quantity{Value: sd}})
			if err != nil {
				t.Errorf("%s, creep %v: %v", law.name(), creep, err)
				continue
			}
			want := map[ParamID]float64{Re: d.Re, Fs: d.Fs(), Qms: d.Qms(), Qes: d.Qes(), Qts: d.Qts(), Mms: d.Mms, Cms: d.Cms, Rms: d.Rms, BL: d.BL,
				Vas: defaultAirStiffness() * sd * sd * d.Cms, Res: d.BL * d.BL / d.Rms, Lces: d.BL * d.BL * d.Cms, Cmes: d.Mms / d.BL / d.BL}
			for id, w := range want {
				e, ok := got.Parameters.Get(id)
				if !ok || relative(e.Value, w) > 1e-8 {
					t.Errorf("%s, creep %v: %v is %v, want %v (%+v)", law.name(), creep, id, e.Value, w, got.Model)
				}
			}
			if e, _ := got.Parameters.Get(Creep); math.Abs(e.Value-creep) > 1e-8 {
				t.Errorf("%s, creep %v: found creep %v", law.name(), creep, e.Value)
			}
		}
	}
}

// A curve without inductance, or one that ends before inductance shows, has a
// resonance like any other.
func TestFitWithoutCoil(t *testing.T) {
	d := courseWoofer // ZL = 0
	for _, hi := range []float64{60, 200, 2000} {
		for _, noise := range []float64{0, 0.002} {
			got, err := Fit([]Sweep{{Impedance: simulate(d, logFreq(5, hi, 24), 0, 0, noise, rand.New(rand.NewPCG(1, 2)))}}, Conditions{})
			if err != nil {
				t.Errorf("up to %v Hz, noise %v: %v", hi, noise, err)
				continue
			}
			for id, want := range map[ParamID]float64{Re: d.Re, Fs: d.Fs(), Qms: d.Qms(), Qes: d.Qes()} {
				e, _ := got.Parameters.Get(id)
				if noise == 0 && relative(e.Value, want) > 1e-8 || noise > 0 && math.Abs(e.Value-want) > 4*e.Std {
					t.Errorf("up to %v Hz, noise %v: %v is %v +- %v, want %v; %+v", hi, noise, id, e.Value, e.Std, want, got.Model)
				}
			}
		}
	}
}
