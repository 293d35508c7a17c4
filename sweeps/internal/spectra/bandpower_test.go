package spectra

import (
	"math"
	"testing"

	"conewright/sweeps/internal/benchtop"
	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/signal"
)

// Segments of a sweep that hold none of it are passed over, and the ratio stays
// within a small part of its noise of what it would be with them, its noise
// within what the number of its degrees of freedom leaves open. Noise fills all
// segments, and nothing changes.
func TestSilentSegments(t *testing.T) {
	for _, s := range []signal.Signal{
		{Kind: signal.ExponentialSweep, Rate: 48000, Duration: 30, Hi: 20000},
		{Kind: signal.PinkNoise, Rate: 48000, Duration: 8, Hi: 20000},
	} {
		rec := benchtop.Record(t, benchtop.BenchTop(), s)
		points := func(all bool) []Point {
			p := newPyramid(rec.Frames, rec.Rate)
			for i := range p.levels {
				if all {
					p.levels[i].share = 0
				}
			}
			e, err := p.estimate(blocks{rec: rec})
			if err != nil {
				t.Fatal(err)
			}
			return e.Points
		}
		less, all := points(false), points(true)
		if len(less) != len(all) {
			t.Fatalf("%v: %d points, %d with all segments", s.Kind, len(less), len(all))
		}
		var off, noise float64
		fewest := 1.0
		for i, p := range less {
			q := all[i]
			fewest = min(fewest, float64(p.dof)/float64(q.dof))
			off = max(off, math.Sqrt(dsp.SqAbs(p.Ratio-q.Ratio)/q.Variance()))
			noise = max(noise, math.Abs(math.Log(p.Variance()/q.Variance()))/2*math.Sqrt(2*float64(p.dof)))
		}
		t.Logf("%v: degrees of freedom down to %.2f, off by %.3f standard deviations, noise by %.2f of its own", s.Kind, fewest, off, noise)
		switch {
		case s.Kind == signal.PinkNoise && (fewest != 1 || off != 0 || noise != 0):
			t.Error("segments of noise were passed over")
		case s.Kind == signal.ExponentialSweep && fewest > 0.5:
			t.Error("the silent segments were not passed over")
		case s.Kind == signal.ExponentialSweep && (off > 0.02 || noise > 3):
			t.Errorf("off by %.3f standard deviations, noise by %.2f of its own", off, noise)
		}
	}
}

// A tone in a band shows at a thousandth of the amplitude of one far below,
// however large the constant part is.
func TestBandPower(t *testing.T) {
	const n = 32400
	for _, c := range []struct{ low, high, mean, least, most float64 }{
		{0.5, 0, 0.3, 0, 1e-8},
		{0.5, 5e-3, 0.3, 0.9e-4, 1.1e-4},
		{0.5, 5e-4, 0, 0.9e-6, 1.2e-6},
		{0, 1e-3, 0.3, 0.9, 1.1},
	} {
		x := make([]float64, n)
		for i := range x {
			w := 2 * math.Pi * float64(i)
			x[i] = c.mean + c.low*math.Sin(w*0.0103) + c.high*math.Sin(w*0.1137)
		}
		if got := bandPower(x); got < c.least || got > c.most {
			t.Errorf("%+v: the band has a share of %.3g", c, got)
		}
	}
}
