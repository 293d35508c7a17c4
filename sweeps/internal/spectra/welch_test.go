package spectra

import (
	"math"
	"testing"

	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"

	"github.com/mjibson/go-dsp/fft"
	"github.com/mjibson/go-dsp/spectral"
	"github.com/mjibson/go-dsp/window"
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
	welch := welchPoints(e.Low)
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

// welchPoints estimates the ratio of two channels from windowed, overlapping
// segments: H = Syx/Sxx, with the random error that the coherence tells,
//
//	|eps|^2 = (1 - g2)/(2 nd g2)   of |H|, and the same of its phase in rad
//
// nd is the number of independent segments. It is less exact than the local
// fits, because the window smears a resonance. Theory (6.7).
//
// Source: Welch, IEEE Trans. Audio Electroacoust. 15, 1967; Bendat and Piersol,
// Random Data (from memory).
func welchPoints(low [2]lowRate) []Point {
	n := min(len(low[0].Samples), len(low[1].Samples))
	size := dsp.Smooth5Below(min(n/4, int(4*low[0].Rate)))
	if size < 32 || n < 4*size {
		return nil
	}
	// Both libraries have symmetric windows only; the periodic one is a point shorter.
	taper := window.Hann(size + 1)[:size]
	a := spectral.Segment(low[0].Samples[:n], size, size/2)
	b := spectral.Segment(low[1].Samples[:n], size, size/2)
	bins := size / 2
	xx, yy, yx := make([]float64, bins), make([]float64, bins), make([]complex128, bins)
	for i := range a {
		x, y := fft.FFTReal(tapered(a[i], taper)), fft.FFTReal(tapered(b[i], taper))
		for k := range bins {
			xx[k] += dsp.SqAbs(x[k])
			yy[k] += dsp.SqAbs(y[k])
			yx[k] += y[k] * conj(x[k])
		}
	}
	// Hann segments that overlap by half have a correlation of 1/6 in amplitude,
	// so of their number 1/(1 + 2/36) are independent (Welch 1967).
	nd := float64(len(a)) * 18 / 19
	sure := max(0.5, 1-math.Pow(chance, 1/(nd-1)))
	strongest := 0.0
	binHz := low[0].Rate / float64(size)
	for k := 1; k < bins; k++ {
		strongest = max(strongest, xx[k]*float64(k))
	}
	var points []Point
	var all, shared float64 // power of channel 1: all of it, and what channel 2 knows of
	for k := max(2, int(math.Ceil(LowestHz/binHz))); k < int(Usable*2*float64(bins)); k++ {
		if !(xx[k]*float64(k) > 0.01*strongest) {
			continue
		}
		all += xx[k]
		g2 := min(coherence(xx[k], yy[k], yx[k]), 1-1e-12)
		eps := randomError(g2, nd)
		if h := yx[k] / complex(xx[k], 0); g2 > sure {
			shared += xx[k]
			// eps is that of size and of phase, so the complex ratio has twice its square.
			points = append(points, Point{Freq: float64(k) * binHz, Ratio: h, Gain: 1, noise: 2 * eps * eps * dsp.SqAbs(h), dof: len(a)})
		}
	}
	if shared < all/2 {
		return nil // what is related is not the signal
	}
	return points
}

// chance is how often two unrelated noises may show the coherence that counts
// as a relation, at one frequency: P(g2 > t) = (1-t)^(nd-1) for them.
//
// Source: Carter, Knapp, Nuttall, IEEE Trans. Audio Electroacoust. 21, 1973
// (from memory).
const chance = 1e-6

// coherence returns |Syx|^2/(Sxx Syy), between 0 and 1.
func coherence(xx, yy float64, yx complex128) float64 {
	if xx == 0 || yy == 0 {
		return 0
	}
	return dsp.SqAbs(yx) / (xx * yy)
}

// randomError returns the standard deviation of |H| relative to |H|, and of its
// phase in rad, for the coherence g2 over nd independent segments.
func randomError(g2, nd float64) float64 { return math.Sqrt((1 - g2) / (2 * nd * g2)) }

func tapered(x, taper []float64) []float64 {
	out := make([]float64, len(x))
	for i := range x {
		out[i] = x[i] * taper[i]
	}
	return out
}
