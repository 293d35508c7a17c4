package sweeps

import (
	"math"
	"testing"
)

// Openings that a sweep hid: where it bends sharply itself, where it was near its
// peak and looked clipped, and where the way to the mended recording ran away.
// Each of these gave points many times their noise off the truth, or a refusal.
func TestCrackleInASweep(t *testing.T) {
	for _, c := range []struct {
		seed     uint64
		openings int
		wiring   Wiring
	}{{39, 1, ResistorFirst}, {21, 2, ResistorFirst}, {4, 3, DriverFirst}, {18, 5, ResistorFirst}} {
		v := benchTop()
		v.Seed, v.Bench.Wiring = c.seed, c.wiring
		v.Flaws.Crackle, v.Flaws.Bits = c.openings, 24
		m, err := Measure(record(t, v, Signal{Kind: ExponentialSweep, Rate: 16000, Hi: 7000, Duration: 15}), v.Bench)
		if err != nil {
			t.Errorf("seed %d: %v", c.seed, err)
			continue
		}
		z := m.Impedance
		var chi2, worst float64
		for i, f := range z.Freq {
			off := sqAbs(z.Z[i]-larch.Impedance(f)) / (z.Sigma[i] * z.Sigma[i])
			chi2 += off / 2 / float64(z.Len())
			worst = max(worst, math.Sqrt(off))
		}
		t.Logf("seed %d: chi-squared %.2f, worst %.1f, %v", c.seed, chi2, worst, z.Warnings)
		if len(z.Warnings) != 1 || z.Warnings[0].Code != "unsteady-contact" || z.Len() < 350 || chi2 > 1.2 || worst > 6 {
			t.Errorf("seed %d: %d points, mean chi-squared %.2f, worst error %.1f times its noise, %v", c.seed, z.Len(), chi2, worst, z.Warnings)
		}
	}
}

// A ratio that is wrong far from the frequency of a patch leaves the patch alone.
func TestPatchHearsItsFrequencyOnly(t *testing.T) {
	const rate, tone = 8000, 30.0
	x, y := make([]float64, 10*rate), make([]float64, 10*rate)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * tone * float64(i) / rate)
		y[i] = x[i] / 2
	}
	rec, err := NewRecording(x, y, rate, "tone")
	if err != nil {
		t.Fatal(err)
	}
	e, err := listen(&blocks{rec: rec})
	if err != nil {
		t.Fatal(err)
	}
	e.points = nil
	for f := 2.0; f < 3000; f *= 1.02 {
		p := point{freq: f, ratio: 0.5}
		if f < 15 {
			p.ratio = 5
		}
		e.points = append(e.points, p)
	}
	p, err := e.cut([]moment{{5, 5.0125}})
	if err != nil {
		t.Fatal(err)
	}
	p.fill(e.ratioCurve(false))
	for i, v := range p.list[0].samples {
		if off := math.Abs(v - y[p.list[0].from+i]); off > 1e-3 {
			t.Fatalf("sample %d of the patch is off by %.2g", i, off)
		}
	}
}
