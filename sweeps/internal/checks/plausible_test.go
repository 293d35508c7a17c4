package checks

import (
	"math"
	"testing"

	"conewright/ts/measured"
)

// A driver swept up to 100 Hz only ends where its impedance is capacitive, and is not upside down for
// that; the same curve turned round is, as soon as it ends inductive.
func TestUpsideDown(t *testing.T) {
	driver := func(f float64) complex128 { // 6 ohm, 31 Hz, Qms 5, Qes 0.5, 0.5 mH
		s := complex(0, f/31)
		return 6 + 60*(s/5)/(s*s+s/5+1) + complex(0, 2*math.Pi*f*0.5e-3)
	}
	twoPeaks := func(f float64) complex128 { // as in a vented box: a deep dip, and a peak beside it that is as high
		s := complex(0, f/90)
		return driver(f) + 60*(s/5)/(s*s+s/5+1)
	}
	for _, c := range []struct {
		name string
		to   float64 // Hz
		z    func(float64) complex128
		want bool
	}{
		{"to 2 kHz", 2000, driver, false},
		{"to 100 Hz", 100, driver, false},
		{"in a vented box", 2000, twoPeaks, false},
		{"in a vented box, to 200 Hz", 200, twoPeaks, false},
		{"turned round", 2000, func(f float64) complex128 { return 100 / driver(f) }, true},
	} {
		var z measured.Impedance
		for f := 10.0; f < c.to; f *= 1.03 {
			z.Freq, z.Z = append(z.Freq, f), append(z.Z, c.z(f))
		}
		if got := upsideDown(z); got != c.want {
			t.Errorf("%s: %v", c.name, got)
		}
	}
}
