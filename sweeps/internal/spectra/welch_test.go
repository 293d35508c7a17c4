package spectra

import (
	"math"
	"testing"

	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"
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
	v := benchtop.BenchTop()
	v.Flaws.Noise = [2]float64{3e-3, 3e-3}
	rec := benchtop.Record(t, v, signal.Signal{Kind: signal.PinkNoise, Rate: 8000, Hi: 3000, Duration: 40})
	e, err := Local(rec, false)
	if err != nil {
		t.Fatal(err)
	}
	welch := WelchPoints(e.Low)
	compared, beyond := 0, 0
	i := 0
	for _, w := range welch {
		for i+1 < len(e.Points) && e.Points[i+1].Freq <= w.Freq {
			i++
		}
		if i+1 >= len(e.Points) || w.Freq < e.Points[i].Freq || w.Freq < 8 {
			continue
		}
		a, b := e.Points[i], e.Points[i+1]
		h := a.Ratio + complex((w.Freq-a.Freq)/(b.Freq-a.Freq), 0)*(b.Ratio-a.Ratio)
		compared++
		if dsp.SqAbs(w.Ratio-h) > 9*(w.Variance()+a.Variance()) {
			beyond++
		}
		if off := math.Sqrt(dsp.SqAbs(w.Ratio-h) / dsp.SqAbs(h)); off > 0.1 {
			t.Errorf("at %.2f Hz the two differ by %.1f %%", w.Freq, 100*off)
		}
	}
	if compared < 100 || beyond > compared/50 {
		t.Errorf("of %d points %d differ by more than three standard deviations", compared, beyond)
	}
}
