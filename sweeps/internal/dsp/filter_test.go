package dsp

import (
	"math"
	"math/cmplx"
	"testing"
)

// response returns the gain of a filter for a tone of f cycles a sample, after it has settled: out
// holds what became of the tone, every step samples of it.
func response(out []float64, f, step float64) float64 {
	var sum complex128
	var n float64
	for i := len(out) / 4; i < len(out)*3/4; i++ {
		// A window of which a tone leaves nothing beside itself.
		w := 1 - math.Cos(2*math.Pi*(float64(i)-float64(len(out))/4)/(float64(len(out))/2))
		sum += complex(w*out[i], 0) * cmplx.Exp(complex(0, -2*math.Pi*f*step*float64(i)))
		n += w
	}
	return 2 * cmplx.Abs(sum) / n
}

func tone(n int, f float64) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = math.Cos(2 * math.Pi * f * float64(i))
	}
	return x
}

// A halved rate keeps what it may hold, and what would fold back on it is gone: by the stated 100 dB, of
// which Kaiser's formula for the length, exact to some dB, may lack 3.
func TestHalfband(t *testing.T) {
	const pass = 0.2
	for _, f := range []float64{0.01, 0.1, 0.15, pass} {
		if g := response(NewHalfband(pass).Push(tone(8192, f)), f, 2); math.Abs(g-1) > 2e-5 {
			t.Errorf("a tone at %g of the rate comes out %.6f times as large", f, g)
		}
	}
	for _, f := range []float64{0.5 - pass, 0.35, 0.4, 0.49} {
		if g := 20 * math.Log10(response(NewHalfband(pass).Push(tone(8192, f)), f, 2)); g > -stopBand+3 {
			t.Errorf("a tone at %g of the rate folds back with %.1f dB", f, g)
		}
	}
}

// Between samples the tone has the values that it has in theory, to the stated 1e-5 up to 0.41 of the rate.
func TestResampler(t *testing.T) {
	for _, f := range []float64{0.01, 0.1, 0.3, 0.41} {
		at := Resampler(tone(400, f))
		for pos := 100.0; pos < 300; pos += 0.173 {
			if got, want := at(pos), math.Cos(2*math.Pi*f*pos); math.Abs(got-want) > 1e-5 {
				t.Fatalf("%g of the rate at %g: %.7f, want %.7f", f, pos, got, want)
			}
		}
	}
}
