package contact

import (
	"math"
	"slices"

	"conewright/sweeps/internal/dsp"
	"conewright/sweeps/internal/spectra"

	"gonum.org/v1/gonum/interp"
)

// ratioCurve is the ratio of the channels as a smooth curve over frequency.
type ratioCurve struct {
	freq   []float64          // Hz, of the points that it goes through
	re, im interp.AkimaSpline // over the logarithm of the frequency
}

// curveOf returns the ratio at the points that are clear, if so asked without
// those that their neighbours contradict.
func curveOf(e *spectra.Result, careful bool) ratioCurve {
	points := e.Points
	if careful && e.Lines == nil {
		points, _ = spectra.WithoutOutliers(points)
	}
	var c ratioCurve
	var lnf, re, im []float64
	for _, p := range points {
		if n := len(c.freq); p.Clear() && (n == 0 || p.Freq > c.freq[n-1]) {
			c.freq = append(c.freq, p.Freq)
			lnf = append(lnf, math.Log(p.Freq))
			re = append(re, real(p.Ratio))
			im = append(im, imag(p.Ratio))
		}
	}
	if !c.known() || c.re.Fit(lnf, re) != nil || c.im.Fit(lnf, im) != nil {
		return ratioCurve{}
	}
	return c
}

// known says whether there are points enough for a curve.
func (c *ratioCurve) known() bool { return len(c.freq) >= spectra.FewestPoints }

// near says whether the points that are clear lie on the curve, but for a small
// part of their noise.
func (c *ratioCurve) near(points []spectra.Point) bool {
	return c.known() && !slices.ContainsFunc(points, func(p spectra.Point) bool {
		return p.Clear() && dsp.SqAbs(c.at(p.Freq)-p.Ratio) > fillSettled*fillSettled*p.Variance()
	})
}

// at returns the ratio at f (Hz), beyond the curve that of its end.
func (c *ratioCurve) at(f float64) complex128 {
	lnf := math.Log(min(max(f, c.freq[0]), c.freq[len(c.freq)-1]))
	return complex(c.re.Predict(lnf), c.im.Predict(lnf))
}
