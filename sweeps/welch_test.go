package sweeps

import (
	"math"
	"testing"
)

func TestRandomErrorOfCoherence(t *testing.T) {
	// The formula of Bendat and Piersol, Random Data, worked out by hand:
	// sqrt((1-g2)/(2 nd g2)).
	for _, c := range []struct{ g2, nd, percent float64 }{
		{0.99, 16, 1.7767}, {0.999, 16, 0.5593}, {0.9, 32, 4.1667}, {0.5, 100, 7.0711},
	} {
		if got := 100 * randomError(c.g2, c.nd); math.Abs(got-c.percent) > 5e-5 {
			t.Errorf("coherence %g over %g segments: %.5f %%, want %.4f %%", c.g2, c.nd, got, c.percent)
		}
	}
}

// Two estimators of different make, on different transforms, agree within
// their noise.
func TestLocalFitsAgreeWithWelch(t *testing.T) {
	v := benchTop()
	v.Flaws.Noise = [2]float64{3e-3, 3e-3}
	rec := record(t, v, Signal{Kind: PinkNoise, Rate: 8000, Hi: 3000, Duration: 40})
	e, err := listen(&blocks{rec: rec})
	if err != nil {
		t.Fatal(err)
	}
	welch := welchPoints(e.low)
	compared, beyond := 0, 0
	i := 0
	for _, w := range welch {
		for i+1 < len(e.points) && e.points[i+1].freq <= w.freq {
			i++
		}
		if i+1 >= len(e.points) || w.freq < e.points[i].freq || w.freq < 8 {
			continue
		}
		a, b := e.points[i], e.points[i+1]
		h := a.ratio + complex((w.freq-a.freq)/(b.freq-a.freq), 0)*(b.ratio-a.ratio)
		compared++
		if sqAbs(w.ratio-h) > 9*(w.variance()+a.variance()) {
			beyond++
		}
		if off := math.Sqrt(sqAbs(w.ratio-h) / sqAbs(h)); off > 0.1 {
			t.Errorf("at %.2f Hz the two differ by %.1f %%", w.freq, 100*off)
		}
	}
	if compared < 100 || beyond > compared/50 {
		t.Errorf("of %d points %d differ by more than three standard deviations", compared, beyond)
	}
}

// One steady tone from a generator has too little spectrum for local fits;
// Welch's estimate gives the impedance at that tone.
func TestSteadyToneFallsBackToWelch(t *testing.T) {
	const rate, f = 8000, 40.3
	tone := make([]float64, 10*rate)
	for i := range tone {
		tone[i] = 0.3 * math.Sin(2*math.Pi*f*float64(i)/rate)
	}
	v := benchTop()
	rec, err := v.Record(tone, rate)
	if err != nil {
		t.Fatal(err)
	}
	z, err := Estimate(rec, v.Bench)
	if err != nil {
		t.Fatal(err)
	}
	if z.Len() < 1 || z.Len() > 10 {
		t.Errorf("%d points from one tone", z.Len())
	}
	for i, at := range z.Freq {
		want := larch.Impedance(f)
		off := math.Sqrt(sqAbs(z.Z[i]-want) / sqAbs(want))
		if math.Abs(at-f) > 1 || off > 0.02 {
			t.Errorf("at %.2f Hz: %.3f ohm, want %.3f", at, z.Z[i], want)
		}
	}
}
