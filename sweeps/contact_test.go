package sweeps

import (
	"math"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/checks"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"
)

// A contact that opens for a few milliseconds neither biases the impedance nor
// makes its noise figure a lie, and is told.
func TestCrackleIsLeftOut(t *testing.T) {
	for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise} {
		var chi2, n float64
		for seed := range uint64(4) {
			v := benchtop.BenchTop()
			v.Seed, v.Bench.Wiring = []uint64{10, 20, 21, 23}[seed], bench.Wiring(seed%3) // their crackles meet the signal
			s := signal.Signal{Kind: kind, Rate: 16000, Hi: 7000, Duration: 12, Period: 2}
			quiet, err := Measure(benchtop.Record(t, v, s), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			if len(quiet.Impedance.Notices) > 0 {
				t.Errorf("%v, seed %d, no crackle: %v", kind, seed, quiet.Impedance.Notices)
			}
			v.Flaws.Crackle = 1 + int(seed%2)
			m, err := Measure(benchtop.Record(t, v, s), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			z := m.Impedance
			told := len(z.Notices) == 1 && z.Notices[0].Code == "unsteady-contact"
			for i, f := range z.Freq {
				chi2 += dsp.SqAbs(z.Z[i]-benchtop.Larch.Impedance(f)) / (2 * z.Sigma[i] * z.Sigma[i])
				n++
			}
			grown := checks.MedianNoise(z) / checks.MedianNoise(quiet.Impedance)
			t.Logf("%v, seed %d: %d points, noise %.2f times, %v", kind, seed, z.Len(), grown, z.Notices)
			if !told || grown > 3 || z.Len() < quiet.Impedance.Len()*9/10 {
				t.Errorf("%v, seed %d: %d of %d points, noise %.2f times that without, %v", kind, seed, z.Len(), quiet.Impedance.Len(), grown, z.Notices)
			}
		}
		if ratio := math.Sqrt(chi2 / n); ratio > 1.2 {
			t.Errorf("%v: true over claimed error %.2f", kind, ratio)
		}
	}
}

// Distortion of the driver is spiky too, but comes back in every period.
func TestDistortionIsNoCrackle(t *testing.T) {
	v := benchtop.BenchTop()
	v.Flaws.Quadratic, v.Flaws.Cubic = 0.5, 2
	s := benchtop.QuickSweep
	s.Kind, s.Period = signal.Multitone, 1
	if got := codes(benchtop.Record(t, v, s), v.Bench); contains(got, "unsteady-contact") || !contains(got, "distortion") {
		t.Errorf("got %v", got)
	}
}

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
		t.Logf("seed %d: chi-squared %.2f, worst %.1f, %v", c.seed, chi2, worst, z.Notices)
		if len(z.Notices) != 1 || z.Notices[0].Code != "unsteady-contact" || z.Len() < 350 || chi2 > 1.2 || worst > 6 {
			t.Errorf("seed %d: %d points, mean chi-squared %.2f, worst error %.1f times its noise, %v", c.seed, z.Len(), chi2, worst, z.Notices)
		}
	}
}
