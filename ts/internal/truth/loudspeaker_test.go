package truth

import (
	"math"
	"math/cmplx"
	"testing"
)

// A capacitor of 10 uF with a loss angle of 0.005 and 0.05 ohm, as numpy has it from the formula, six decimals.
func TestLossyCapacitor(t *testing.T) {
	c := LossyCapacitor{C: 10e-6, ESR: 0.05, D: 0.005}
	for f, want := range map[float64]complex128{100: 0.839964 - 157.992714i, 1000: 0.129577 - 15.915494i, 10000: 0.058016 - 1.603257i} {
		// The table has the size for a capacitance of 10 uF: 1/(w C) is that of its reactance at 1 kHz.
		z := complex(0.05, 0) + (c.Z(f)-0.05)*complex(math.Sqrt(1+0.005*0.005), 0)
		if d := cmplx.Abs(z - want); d > 2e-6*cmplx.Abs(want) {
			t.Errorf("%v Hz: %v, wanted %v", f, z, want)
		}
	}
}

// A hole without mass is a leak, one that is a port tunes the box, and a branch that is open leaves the other.
func TestHoleAndBranches(t *testing.T) {
	rng := Rand(5)
	d := DrawWith(rng, Plain)
	tight := Closed(d.Air, 0.03, 50, Losses{QA: 40})
	leak, hole := tight, tight
	leak.Leak, hole.Hole = 2e5, Hole{R: 2e5}
	port := Vented(d.Air, 0.03, 50, Losses{QA: 40, QP: 30})
	asHole := tight
	asHole.Hole = Hole{R: port.PortLoss, M: port.PortMass}
	for _, f := range []float64{10, 40, 200} {
		for _, pair := range [][2]Box{{leak, hole}, {port, asHole}} {
			a, b := d.Loaded(pair[0]).Z(f), d.Loaded(pair[1]).Z(f)
			if cmplx.Abs(a-b) > 1e-12*cmplx.Abs(a) {
				t.Errorf("%v Hz: %v and %v", f, a, b)
			}
		}
	}
	if got := port.Tuning(d.Air); math.Abs(got-50) > 1e-9 {
		t.Errorf("tuned to %v Hz", got)
	}
	l, _ := DrawLoudspeaker(rng)
	open := l.With(rng, HighBranchOpen)
	if a, b := open.Z(3000), l.L1.Z(3000)+l.Woofer.Z(3000); cmplx.Abs(a-b) > 1e-9*cmplx.Abs(b) {
		t.Errorf("%v and %v", a, b)
	}
}
