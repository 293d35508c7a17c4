package sweeps

import (
	"math"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"
)

// Openings that a sweep hid: where it bends sharply itself, where it was near its
// peak and looked clipped, and where the way to the mended recording ran away.
// Each of these gave points many times their noise off the truth, or a refusal.
func TestCrackleInASweep(t *testing.T) {
	for _, c := range []struct {
		seed     uint64
		openings int
		wiring   bench.Wiring
	}{{39, 1, bench.ResistorFirst}, {21, 2, bench.ResistorFirst}, {4, 3, bench.DriverFirst}, {18, 5, bench.ResistorFirst}} {
		v := benchtop.BenchTop()
		v.Seed, v.Bench.Wiring = c.seed, c.wiring
		v.Flaws.Crackle, v.Flaws.Bits = c.openings, 24
		m, err := Measure(benchtop.Record(t, v, signal.Signal{Kind: signal.ExponentialSweep, Rate: 16000, Hi: 7000, Duration: 15}), v.Bench)
		if err != nil {
			t.Errorf("seed %d: %v", c.seed, err)
			continue
		}
		z := m.Impedance
		var chi2, worst float64
		for i, f := range z.Freq {
			off := dsp.SqAbs(z.Z[i]-benchtop.Larch.Impedance(f)) / (z.Sigma[i] * z.Sigma[i])
			chi2 += off / 2 / float64(z.Len())
			worst = max(worst, math.Sqrt(off))
		}
		t.Logf("seed %d: chi-squared %.2f, worst %.1f, %v", c.seed, chi2, worst, z.Warnings)
		if len(z.Warnings) != 1 || z.Warnings[0].Code != "unsteady-contact" || z.Len() < 350 || chi2 > 1.2 || worst > 6 {
			t.Errorf("seed %d: %d points, mean chi-squared %.2f, worst error %.1f times its noise, %v", c.seed, z.Len(), chi2, worst, z.Warnings)
		}
	}
}
