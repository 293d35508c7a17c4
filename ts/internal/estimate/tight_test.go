package estimate

import (
	"math"
	"testing"

	"conewright/ts/internal/law"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// The search begins with the share of the air that the driver in free air says: 1 + alpha = Lces (2 pi fc) Qmc/Res, theory (10.5).
func TestTightStart(t *testing.T) {
	z := portedSweep()
	outline := measured.Outline{Fs: 60, Qms: 4, Res: 40, Re: 6}
	const alpha = 1.5
	lces := (1 + alpha) * outline.Res / (2 * math.Pi * outline.Fs * outline.Qms)
	known := Driver{Lces: math.Log(lces), Res: math.Log(45), Creep: 0.1, LcesStd: 0.02, ResStd: 0.1, CreepStd: 0.02}
	in := observe([]measured.Sweep{{Impedance: z}}, measured.Conditions{}, &outline, cabinet{closed: true, driver: &known}).unweighted(new(scratch))
	p := in.problem(form{coil: law.Lossy, creep: true}, true, 1)
	x := in.start(p, outline)
	if got := math.Exp(x[p.lay.tight+tightAlpha]); math.Abs(got/alpha-1) > 1e-9 {
		t.Errorf("alpha begins at %v, want %v", got, alpha)
	}
	for _, pr := range p.lay.priors {
		if pr.component.Part == param.BenchPart && pr.index == p.lay.tight+tightAlpha && math.Abs(pr.rest(x)) > 1e-9 {
			t.Errorf("the start is %v standard uncertainties from what the driver says", pr.rest(x))
		}
	}
}
