package fitted_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"conewright/ts/fitted"
	"conewright/ts/param"
)

// a curve whose real part below the resonance is re + motion (f/fs)^2, with a misfit that follows no law, and a fit that says
// fittedRe of Re and motion alike.
func curve(re, fittedRe, motion float64, rng *rand.Rand) *fitted.Result {
	const fs, noise = 50, 1e-3
	c := fitted.Curve{Re: fittedRe}
	for f := 2.0; f < 200; f *= math.Exp2(1. / 24) {
		m := motion * f * f / (fs * fs)
		ripple := 0.02 * math.Sin(3*math.Log(f))
		c.Freq = append(c.Freq, f)
		c.Fitted = append(c.Fitted, complex(fittedRe+m, m))
		c.Measured = append(c.Measured, complex((re+m)*(1+ripple)+noise*re*rng.NormFloat64(), m))
		c.Sigma = append(c.Sigma, 0.02*re) // a fit that misses takes that for noise
	}
	p := param.Parameters{IDs: []param.ID{param.Re, param.Fs}, Scaled: []float64{math.Log(fittedRe), math.Log(fs)}}
	return &fitted.Result{Parameters: p, Curves: []fitted.Curve{c}}
}

// Curves with a misfit in common tell Re better than their fits, of which one is 3 % too high: ln 6.2/6 within 0.3 %, and
// within twice what is said of it.
func TestBetweenTellsRe(t *testing.T) {
	for seed := range uint64(20) {
		rng := rand.New(rand.NewPCG(seed, 5))
		before, after := curve(6, 6.18, 20, rng), curve(6.2, 6.21, 22, rng)
		got := fitted.Between(before, after)
		if got == nil {
			t.Fatal("nothing is told")
		}
		change := got.Off + math.Log(6.21/6.18)
		if off := change - math.Log(6.2/6); math.Abs(off) > 2*got.Std || got.Std > 0.003 {
			t.Errorf("seed %d: %.4f off, with a standard uncertainty of %.4f", seed, off, got.Std)
		}
	}
}

// A magnitude has no real part, and a sweep that begins near the resonance hides Re.
func TestBetweenTellsNothing(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 5))
	whole := curve(6, 6, 20, rng)
	magnitude := curve(6, 6, 20, rng)
	magnitude.Curves[0].Re = 0
	late := curve(6, 6, 20, rng)
	c := &late.Curves[0]
	for i, f := range c.Freq {
		if f > 10 {
			c.Freq, c.Measured, c.Fitted, c.Sigma = c.Freq[i:], c.Measured[i:], c.Fitted[i:], c.Sigma[i:]
			break
		}
	}
	for i, other := range []*fitted.Result{magnitude, late} {
		t.Run(fmt.Sprint(i), func(t *testing.T) {
			if got := fitted.Between(whole, other); got != nil {
				t.Errorf("told %+v", *got)
			}
		})
	}
}
