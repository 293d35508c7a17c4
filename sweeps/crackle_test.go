package sweeps

import (
	"math"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/gates"
	"conewright/sweeps/signal"
)

// A contact that opens for a few milliseconds neither biases the impedance nor
// makes its noise figure a lie, and is told.
func TestCrackleIsLeftOut(t *testing.T) {
	for _, kind := range []signal.SignalKind{signal.ExponentialSweep, signal.Multitone, signal.PinkNoise} {
		var chi2, n float64
		for seed := range uint64(4) {
			v := benchtop.BenchTop()
			v.Seed, v.Bench.Wiring = []uint64{10, 20, 21, 23}[seed], bench.Wiring(seed%3) // their crackles meet the signal
			s := signal.Signal{Kind: kind, Rate: 16000, Hi: 7000, Duration: 12, Period: 2}
			quiet, err := Measure(benchtop.Record(t, v, s), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			if len(quiet.Impedance.Warnings) > 0 {
				t.Errorf("%v, seed %d, no crackle: %v", kind, seed, quiet.Impedance.Warnings)
			}
			v.Flaws.Crackle = 1 + int(seed%2)
			m, err := Measure(benchtop.Record(t, v, s), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			z := m.Impedance
			told := len(z.Warnings) == 1 && z.Warnings[0].Code == "unsteady-contact"
			for i, f := range z.Freq {
				chi2 += dsp.SqAbs(z.Z[i]-benchtop.Larch.Impedance(f)) / (2 * z.Sigma[i] * z.Sigma[i])
				n++
			}
			grown := gates.MedianNoise(z) / gates.MedianNoise(quiet.Impedance)
			t.Logf("%v, seed %d: %d points, noise %.2f times, %v", kind, seed, z.Len(), grown, z.Warnings)
			if !told || grown > 3 || z.Len() < quiet.Impedance.Len()*9/10 {
				t.Errorf("%v, seed %d: %d of %d points, noise %.2f times that without, %v", kind, seed, z.Len(), quiet.Impedance.Len(), grown, z.Warnings)
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
