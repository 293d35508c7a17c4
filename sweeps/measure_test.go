package sweeps

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"
)

func TestMeasureRecoversTheDriverInEveryWiring(t *testing.T) {
	for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.PinkNoise, signal.Multitone} {
		for _, w := range []bench.Wiring{bench.ResistorFirst, bench.DriverFirst, bench.Probes} {
			v := benchtop.BenchTop()
			v.Bench.Wiring = w
			z, err := Measure(benchtop.Record(t, v, signal.Signal{Kind: kind, Rate: 16000, Hi: 7000, Duration: 12}), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			if z.Freq[0] > 7.5 || z.Freq[z.Len()-1] < 6500 || z.Len() < 300 {
				t.Errorf("%v, %v: %d points from %.1f to %.0f Hz", kind, w, z.Len(), z.Freq[0], z.Freq[z.Len()-1])
			}
			// The claimed noise must be the true error's, not merely near it.
			var chi2 float64
			for i, f := range z.Freq {
				e := z.Z[i] - benchtop.Larch.Impedance(f)
				chi2 += dsp.SqAbs(e) / (2 * z.Sigma[i] * z.Sigma[i])
				if cmplx.Abs(e) > 6*z.Sigma[i] {
					t.Errorf("%v, %v: at %.1f Hz the error is %.2g ohm, sigma %.2g", kind, w, f, cmplx.Abs(e), z.Sigma[i])
				}
			}
			if r := math.Sqrt(chi2 / float64(z.Len())); r < 0.9 || r > 1.1 {
				t.Errorf("%v, %v: error over sigma is %.3f", kind, w, r)
			}
		}
	}
}

func TestMeasureWithoutNoiseIsExact(t *testing.T) {
	for _, kind := range []signal.Kind{signal.ExponentialSweep, signal.PinkNoise, signal.Multitone} {
		v := benchtop.BenchTop()
		v.Flaws.Noise = [2]float64{}
		z, err := Measure(benchtop.Record(t, v, signal.Signal{Kind: kind, Rate: 48000, Duration: 8, Period: 2}), v.Bench)
		if err != nil {
			t.Fatal(err)
		}
		var worst, at float64
		for i, f := range z.Freq {
			if e := cmplx.Abs(z.Z[i]-benchtop.Larch.Impedance(f)) / cmplx.Abs(z.Z[i]); e > worst && f > 6 {
				worst, at = e, f
			}
		}
		t.Logf("%v worst relative error %.2g at %.1f Hz", kind, worst, at)
		if worst > 1e-3 {
			t.Errorf("%v: relative error %.2g at %.1f Hz", kind, worst, at)
		}
	}
}
