package spectra

import (
	"math"
	"math/rand/v2"
	"testing"

	"conewright/sweeps/internal/dsp"
)

// The variance of a line from the scatter of Y - H X is the textbook's formula
// for the ratio of two noisy, correlated quantities,
//
//	var H/|H|^2 = ( var Y/|Y|^2 + var X/|X|^2 - 2 Re(cov(Y,X)/(Y X*)) )/M
//
// Source: Pintelon and Schoukens, System Identification, 2nd ed. (from memory).
func TestPeriodicVarianceIsTheRatioFormula(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	normal := func(s float64) complex128 { return complex(s*rng.NormFloat64(), s*rng.NormFloat64()) }
	const m = 7
	l := &lines{Period: 1, Count: m, x: make([]complex128, 1), y: make([]complex128, 1), xx: make([]float64, 1), yy: make([]float64, 1), yx: make([]complex128, 1)}
	var xs, ys [m]complex128
	for p := range m {
		common := normal(0.02)
		xs[p], ys[p] = 1+2i+common+normal(0.01), 0.3-0.4i+common+normal(0.02)
		l.add([2][]complex128{{xs[p]}, {ys[p]}})
	}
	var mx, my complex128
	for p := range m {
		mx += xs[p] / m
		my += ys[p] / m
	}
	var vx, vy float64
	var c complex128
	for p := range m {
		vx += dsp.SqAbs(xs[p]-mx) / (m - 1)
		vy += dsp.SqAbs(ys[p]-my) / (m - 1)
		c += (ys[p] - my) * conj(xs[p]-mx) / (m - 1)
	}
	want := (vy/dsp.SqAbs(my) + vx/dsp.SqAbs(mx) - 2*real(c/(my*conj(mx)))) / m
	h, noise := l.ratio(0)
	got := noise / (m * dsp.SqAbs(mx)) / dsp.SqAbs(h)
	if math.Abs(got/want-1) > 1e-12 {
		t.Errorf("relative variance %.12g, the formula says %.12g", got, want)
	}
}
