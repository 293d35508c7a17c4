package friction

import (
	"math"
	"math/cmplx"
	"slices"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/measured"
	"conewright/ts/nonlinear"
)

// integrated is what scipy says of one driver and voltage, as a sweep of a few tones.
func integrated(t *testing.T, same func(c handmade.Tone) bool) played {
	d := handmade.ToneDriver
	p := played{linear: linear{fs: 40.104, res: d.BL * d.BL / d.Rms, bl: d.BL}, drive: &measured.Harmonics{}}
	for _, c := range handmade.Tones(t, "../..") {
		if !same(c) {
			continue
		}
		p.freq, p.z = append(p.freq, c.Freq), append(p.z, c.Z)
		p.ze = append(p.ze, complex(d.Re, 0)+d.Coil.Impedance(2*math.Pi*c.Freq))
		p.drive.Freq = append(p.drive.Freq, c.Freq)
		p.drive.Voltage = append(p.drive.Voltage, c.Volt*math.Sqrt2*cmplx.Abs(c.Z/(c.Z+handmade.ToneResistor)))
	}
	p.volts = p.drive.Voltage[p.drive.Near(p.fs)] / math.Sqrt2
	if len(p.freq) < fewestTones {
		t.Fatalf("%d tones", len(p.freq))
	}
	return p
}

// Losses that fall with the level tell the friction with which scipy integrated the driver; a suspension that hardens is none.
func TestLossesTellFriction(t *testing.T) {
	none := sizes{size: make([]float64, len(distances)+2)}
	for _, c := range []struct{ force, k2, low, high, within float64 }{
		{0.002, 0, 0.1, 0.3, 0.03}, {0.002, 0, 0.1, 1, 0.03}, {0.01, 0, 0.3, 1, 0.03}, {0.01, 0, 0.1, 1, 0.1}, {0, 1e8, 0.1, 0.3, 0},
	} {
		at := func(volt float64) played {
			return integrated(t, func(x handmade.Tone) bool {
				return x.Volt == volt && x.Friction == c.force && x.K2 == c.k2 && x.B1 == 0 && x.B2 == 0
			})
		}
		got, ok := byLosses(at(c.low), at(c.high), none)
		if !ok || math.Abs(got.Force-c.force) > c.within*c.force+2e-5 || !(got.Std > 0) || got.Std > 0.2*c.force+1e-3 ||
			math.Abs(got.Force-c.force) > 2*got.Std {
			t.Errorf("%g N, K2 %g, %g and %g V: %+v, %v", c.force, c.k2, c.low, c.high, got, ok)
		}
		if _, ok := byLosses(at(c.high), at(c.low), none); ok {
			t.Error("the louder sweep was taken for the softer one")
		}
	}
}

// A force factor that falls with the excursion is no friction: scipy integrated the driver.
func TestLossesBesideAnUnevenMotor(t *testing.T) {
	none := sizes{size: make([]float64, len(distances)+2)}
	at := func(volt float64) played {
		return integrated(t, func(x handmade.Tone) bool {
			return x.Volt == volt && x.Friction == 0 && x.K2 == 0 && x.B1 == 0 && x.B2 == -4e4
		})
	}
	for _, low := range []float64{0.3, 1} {
		if got, ok := byLosses(at(low), at(3), none); !ok || math.Abs(got.Force) > 0.5e-3 || math.Abs(got.Force) > 2*got.Std {
			t.Errorf("%g and 3 V: %+v, %v", low, got, ok)
		}
	}
}

// Two sweeps are of one coil: what the fitted curve of the louder one takes of its motion for the coil does not matter, and what
// its coil is warmer by is taken off.
func TestLossesBehindOneCoil(t *testing.T) {
	none := sizes{size: make([]float64, len(distances)+2)}
	at := func(volt float64) played {
		return integrated(t, func(x handmade.Tone) bool {
			return x.Volt == volt && x.Friction == 0.01 && x.K2 == 0 && x.B1 == 0 && x.B2 == 0
		})
	}
	low, high := at(0.3), at(1)
	want, _ := byLosses(low, high, none)
	const warmer = 0.06 // ohm, three times what heat is taken for without it
	high.re += warmer
	for i := range high.z {
		high.z[i] += warmer
		high.ze[i] += warmer + 0.03*(high.z[i]-high.ze[i])
	}
	// The voltages at the terminals are those of the cooler coil.
	if got, ok := byLosses(low, high, none); !ok || math.Abs(got.Force-want.Force) > 0.05*want.Force {
		t.Errorf("%+v, before %+v", got, want)
	}
}

// What slides in the suspension and was found by its harmonics is no friction of the coil.
func TestLossesOfWhatSlides(t *testing.T) {
	told := func(force float64) (ByLosses, bool) {
		law := nonlinear.Friction{Force: force, Slides: 100e-6}
		kind := sizes{size: make([]float64, len(distances)+2)}
		kind.size[slices.Index(distances, law.Slides)] = law.Force
		var all []played
		for _, volt := range []float64{0.1, 0.4} {
			s, f := swept(woofer, law, nonlinear.Uneven{}, volt, 1e-7)
			l, _ := newLinear(f.Curves[0], f.Parameters, [3]float64{}, woofer.BL)
			for i, g := range l.freq {
				l.ze[i] = complex(woofer.Re, 0) + woofer.Coil.Impedance(2*math.Pi*g)
			}
			all = append(all, played{l, s.Impedance.Harmonics, volt})
		}
		return byLosses(all[0], all[1], kind)
	}
	got, ok := told(0.008)
	if !ok || math.Abs(got.Force) > 5e-5 {
		t.Errorf("%+v, %v", got, ok)
	}
	if got, ok := told(0.05); ok {
		t.Errorf("a suspension that is far softer at the louder level: %+v", got)
	}
	// Losses that do not move with the level at all are not taken for granted: 1.5 % of 0.9 kg/s for each of two doublings, where 1 N
	// is worth some 40 kg/s.
	if got.Std < 4e-4 || got.Std > 1e-3 {
		t.Errorf("known to %g N", got.Std)
	}
}

// A suspension that loses more at one level, and a coil that is warmer there, are no friction beyond the uncertainty.
func TestOtherLossesAreNoFriction(t *testing.T) {
	for _, more := range []float64{0.96, 1.04} {
		quiet, f := swept(woofer, nonlinear.Friction{}, nonlinear.Uneven{}, 0.1, 1e-7)
		lossy := woofer
		lossy.Rms *= more
		lossy.Re *= 1.002
		loud, g := swept(lossy, nonlinear.Friction{}, nonlinear.Uneven{}, 0.4, 1e-7)
		f.Curves = append(f.Curves, g.Curves[0])
		// Each has losses of its own.
		half := math.Log(more) / 2
		f.Runs = [][3]float64{{0, half, 0}, {0, -half, 0}}
		got, ok := Judge([]measured.Sweep{quiet, loud}, f)
		if l := got.Losses; !ok || got.Rubs || !(l.Std > 0) || math.Abs(l.Force) > 2*l.Std || l.Std > 1e-3 {
			t.Errorf("losses times %g: %+v", more, got)
		}
	}
}

// Losses and harmonics are joined by what each is known to.
func TestLossesBesideHarmonics(t *testing.T) {
	if got := (ByLosses{Force: 8e-3, Std: 0.5e-3}).beside(10e-3, 0.5e-3); math.Abs(got-9e-3) > 1e-9 {
		t.Errorf("%g N", got)
	}
	if got := (ByLosses{Force: -8e-3, Std: 5e-3}).beside(1e-3, 0.05e-3); got > 1e-3 || got < 0.999e-3 {
		t.Errorf("%g N", got)
	}
}
