package sweeps

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/ts"
)

// larch is a ten-inch woofer of our own.
var larch = ts.Driver{Re: 5.6, BL: 8, Mms: 0.03, Cms: 0.75e-3, Rms: 1.5, Coil: ts.LossyCoil{K: 0.02, N: 0.7}}

func benchTop() VirtualBench {
	return VirtualBench{Z: larch.Impedance, Bench: Bench{Wiring: ResistorFirst, Resistor: 10}, Seed: 1,
		Flaws: Flaws{Latency: 0.1, After: 0.5, Noise: [2]float64{1e-4, 1e-4}}}
}

func record(t testing.TB, v VirtualBench, s Signal) *Recording {
	t.Helper()
	x, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	rec, err := v.Record(x, s.Defaults().Rate)
	if err != nil {
		t.Fatal(err)
	}
	return rec
}

func TestEstimateRecoversTheDriverInEveryWiring(t *testing.T) {
	for _, kind := range []SignalKind{ExponentialSweep, PinkNoise, Multitone} {
		for _, w := range []Wiring{ResistorFirst, DriverFirst, Probes} {
			v := benchTop()
			v.Bench.Wiring = w
			z, err := Estimate(record(t, v, Signal{Kind: kind, Rate: 16000, Hi: 7000, Duration: 12}), v.Bench)
			if err != nil {
				t.Fatal(err)
			}
			if z.Freq[0] > 7.5 || z.Freq[z.Len()-1] < 6500 || z.Len() < 300 {
				t.Errorf("%v, %v: %d points from %.1f to %.0f Hz", kind, w, z.Len(), z.Freq[0], z.Freq[z.Len()-1])
			}
			// The claimed noise must be the true error's, not merely near it.
			var chi2 float64
			for i, f := range z.Freq {
				e := z.Z[i] - larch.Impedance(f)
				chi2 += sqAbs(e) / (2 * z.Sigma[i] * z.Sigma[i])
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

func TestEstimateWithoutNoiseIsExact(t *testing.T) {
	for _, kind := range []SignalKind{ExponentialSweep, PinkNoise, Multitone} {
		v := benchTop()
		v.Flaws.Noise = [2]float64{}
		z, err := Estimate(record(t, v, Signal{Kind: kind, Rate: 48000, Duration: 8, Period: 2}), v.Bench)
		if err != nil {
			t.Fatal(err)
		}
		var worst, at float64
		for i, f := range z.Freq {
			if e := cmplx.Abs(z.Z[i]-larch.Impedance(f)) / cmplx.Abs(z.Z[i]); e > worst && f > 6 {
				worst, at = e, f
			}
		}
		t.Logf("%v worst relative error %.2g at %.1f Hz", kind, worst, at)
		if worst > 1e-3 {
			t.Errorf("%v: relative error %.2g at %.1f Hz", kind, worst, at)
		}
	}
}
