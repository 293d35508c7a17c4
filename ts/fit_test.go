package ts

import (
	"math"
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
