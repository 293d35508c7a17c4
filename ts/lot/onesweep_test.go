package lot

import (
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// The same for a pair, where both sweeps may differ.
func TestPairHoldsForOneSweep(t *testing.T) {
	left := handmade.Known{Driver: handmade.Woofer, Std: map[param.ID]float64{param.Fs: 0.001}}.Parameters(nil)
	for stiffer, holds := range map[float64]bool{1.02: true, 1.0962: false, 1.2: true} {
		right := handmade.Known{Driver: handmade.Changed(func(d *driver.Driver) { d.Cms /= stiffer }), Std: map[param.ID]float64{param.Fs: 0.001}}.Parameters(nil)
		p, err := Pair(left, right, PairOptions{Limits: []PairLimit{{param.Fs, 5}}})
		if err != nil {
			t.Fatal(err)
		}
		if p.Verdict == verdict.Undecided || p.HoldsForOneSweep() != holds {
			t.Errorf("stiffness x%v: %v, holds %v", stiffer, p.Verdict, p.HoldsForOneSweep())
		}
	}
}
