package virtual_test

import (
	"math"
	"math/cmplx"
	"testing"

	"conewright/sweeps/virtual"
	"conewright/ts/handmade"
)

func toneDriver(c handmade.Tone) virtual.Driver {
	return virtual.Driver{Re: handmade.ToneDriver.Re, L: handmade.ToneL, BL: handmade.ToneDriver.BL, BL1: c.B1, BL2: c.B2, Mms: handmade.ToneDriver.Mms,
		Rms: handmade.ToneDriver.Rms, K: 1 / handmade.ToneDriver.Cms, K2: c.K2 * handmade.ToneDriver.Cms, Friction: c.Friction}
}

// Impedance and harmonics of the current under steady tones are those that scipy found by integrating the same
// equations with another formula.
func TestTonesAsInScipy(t *testing.T) {
	const rate = 24000
	for _, c := range handmade.Tones(t, "../..") {
		if testing.Short() && c.Freq != 40 {
			continue
		}
		period, periods := rate/int(c.Freq), int(c.Freq) // a second
		// The current is cut off at its end, which disturbs the samples next to it.
		last := toneDriver(c).Current(c.Sine(rate, periods), rate, handmade.ToneResistor)[period*(periods-2) : period*(periods-1)]
		harmonic := func(n int) complex128 { return phasor(last, float64(n)/float64(period)) }
		i1 := harmonic(1)
		z := complex(0, -c.Volt*math.Sqrt2)/i1 - complex(handmade.ToneResistor, 0)
		if off := cmplx.Abs(z-c.Z) / cmplx.Abs(c.Z); off > 2e-5 {
			t.Errorf("%+v: impedance %v, off by %.2g", c, z, off)
		}
		for k, want := range c.Harmonics {
			if got := 100 * cmplx.Abs(harmonic(k+2)/i1); math.Abs(got-want) > 1e-3*want+3e-5 {
				t.Errorf("F %g k2 %g b1 %g b2 %g, %g V, %g Hz: harmonic %d is %.6f %%, want %.6f", c.Friction, c.K2, c.B1, c.B2, c.Volt, c.Freq, k+2, got, want)
			}
		}
	}
}
