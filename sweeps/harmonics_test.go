package sweeps

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"conewright/sweeps/bench"
	"conewright/sweeps/signal"
	"conewright/sweeps/virtual"
	"conewright/ts/handmade"
	"conewright/ts/measured"
)

// sweptTone records a sweep of the driver of a tone at its voltage.
func sweptTone(t *testing.T, c handmade.Tone, b bench.Bench, flaws virtual.Flaws) measured.Impedance {
	t.Helper()
	const full = 10 // V
	d := virtual.Driver{Re: handmade.ToneDriver.Re, L: handmade.ToneL, BL: handmade.ToneDriver.BL, BL1: c.B1, BL2: c.B2, Mms: handmade.ToneDriver.Mms,
		Rms: handmade.ToneDriver.Rms, K: 1 / handmade.ToneDriver.Cms, K2: c.K2 * handmade.ToneDriver.Cms, Friction: c.Friction}
	s := signal.Signal{Rate: 16000, Lo: 5, Hi: 2000, Duration: 12, Level: c.Volt * math.Sqrt2 / full}
	x, err := s.Samples()
	if err != nil {
		t.Fatal(err)
	}
	b.Resistor, b.FullScale = handmade.ToneResistor, full
	rec, err := virtual.Bench{Driver: &d, Bench: b, Flaws: flaws, Seed: 1}.Record(x, s.Rate)
	if err != nil {
		t.Fatal(err)
	}
	z, err := Measure(rec, b)
	if err != nil {
		t.Fatal(err)
	}
	if z.Harmonics == nil {
		t.Fatal("the sweep was not recognised")
	}
	if c, loss := clipsSoftly(z); c != 0 {
		t.Errorf("channel %d is said to clip by %g, where the driver distorts", c, loss)
	}
	return z
}

// harmonicAt returns the current of order n in percent of the fundamental at f (Hz) in the circuit with the resistor, and
// its standard deviation.
func harmonicAt(z measured.Impedance, n int, f float64) (percent, std float64) {
	h := z.Harmonics
	i, _ := slices.BinarySearch(h.Freq, f)
	o := h.Orders[n-2]
	u := math.Log(f/h.Freq[i-1]) / math.Log(h.Freq[i]/h.Freq[i-1])
	between := func(of func(k int) float64) float64 { return math.Exp((1-u)*math.Log(of(i-1)) + u*math.Log(of(i))) }
	at := func(f float64) complex128 {
		k, _ := slices.BinarySearch(z.Freq, f)
		u := complex((f-z.Freq[k-1])/(z.Freq[k]-z.Freq[k-1]), 0)
		return (1-u)*z.Z[k-1] + u*z.Z[k]
	}
	first := between(func(k int) float64 { return h.Voltage[k] / cmplx.Abs(at(h.Freq[k])) })
	zn := at(float64(n) * f)
	seen := 100 * cmplx.Abs(zn/(zn+handmade.ToneResistor)) / first
	return between(func(k int) float64 { return cmplx.Abs(o.Current[k]) }) * seen, max(o.Noise[i-1], o.Noise[i]) * seen
}

// Harmonics of a swept driver are within 0.3 dB those of steady tones, which scipy integrated.
func TestHarmonicsAsInScipy(t *testing.T) {
	all := handmade.Tones(t, "..")
	for _, c := range []handmade.Tone{
		{Friction: 0.002, Volt: 0.1}, {Friction: 0.01, Volt: 0.3}, {Friction: 0.01, Volt: 0.1}, {K2: 1e8, Volt: 1}, {B1: 20, Volt: 0.3}, {B2: -4e4, Volt: 1},
	} {
		z := sweptTone(t, c, bench.Bench{}, virtual.Flaws{Latency: 0.1, After: 0.5, Clock: 40e-6, Noise: [2]float64{1e-7, 1e-7}})
		// The amplifier's peak is divided by the resistor and the driver: a scale that all orders share shows here.
		for k, f := range z.Harmonics.Freq {
			i, _ := slices.BinarySearch(z.Freq, f)
			if want := c.Volt * math.Sqrt2 * cmplx.Abs(z.Z[i]/(z.Z[i]+handmade.ToneResistor)); f > 100 && math.Abs(z.Harmonics.Voltage[k]/want-1) > 0.02 {
				t.Errorf("%+v: %.4f V at %g Hz, want %.4f", c, z.Harmonics.Voltage[k], f, want)
			}
		}
		compared, largest := 0, 0.0
		for _, steady := range all {
			if steady.Friction != c.Friction || steady.K2 != c.K2 || steady.B1 != c.B1 || steady.B2 != c.B2 || steady.Volt != c.Volt {
				continue
			}
			for k, want := range steady.Harmonics {
				if n := k + 2; float64(n)*steady.Freq < 700 {
					got, std := harmonicAt(z, n, steady.Freq)
					if want < 10*std || want < 1e-3 {
						continue
					}
					compared++
					off := 20 * math.Log10(got/want)
					largest = max(largest, math.Abs(off))
					if math.Abs(off) > 0.3 {
						t.Errorf("%+v at %g Hz, order %d: %.5f %%, want %.5f (%.2f dB off, noise %.5f)", c, steady.Freq, n, got, want, off, std)
					}
				}
			}
		}
		t.Logf("F %g k2 %g b1 %g b2 %g: %d harmonics compared, within %.2f dB", c.Friction, c.K2, c.B1, c.B2, compared, largest)
		if compared < 4 {
			t.Errorf("%+v: only %d harmonics compared", c, compared)
		}
	}
}
