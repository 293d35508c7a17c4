package estimate

import (
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// A meter that is far off and sure of itself pulls the values, but leaves all of
// them numbers: also where what has no weight fits it best.
func TestMeterFarOff(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep = 0.1
	for _, noise := range []float64{1e-6, 3e-5, 2e-4, 2e-3} {
		z := simulated.Simulate(d, simulated.LogFreq(4, 2000, 24), 0, 0, noise, rand.New(rand.NewPCG(6, 6)))
		for _, off := range []float64{0.5, 0.8, 0.98, 1, 1.02, 1.3, 2} {
			f, err := Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{DCRe: param.Quantity{Value: off * d.Re, Std: 1e-4 * off * d.Re}})
			if err != nil {
				t.Errorf("noise %v, reading %v Re: %v", noise, off, err)
				continue
			}
			for _, e := range f.Parameters.All() {
				if !(e.Low <= e.Value && e.Value <= e.High && e.Std >= 0) || math.IsInf(e.High, 0) {
					t.Errorf("noise %v, reading %v Re: %v is %v, %v to %v", noise, off, e.ID, e.Value, e.Low, e.High)
				}
			}
		}
	}
}
