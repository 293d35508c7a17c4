package truth

import (
	"math"
	"testing"
)

// Integration in time of a driver with a hardening spring, k2 = 1e8 N/m³, 10 ohm in series (scipy, rtol 1e-9):
// the reactance of the mechanical side at 30 Hz and the excursion at 40 Hz at U V rms. The describing function
// is that of the fundamental, K + 3/4 k2 X², good to some percent where the excursion has harmonics.
func TestHardeningAgainstIntegration(t *testing.T) {
	d := Lumped(6, 0.5e-3, 6, 0.015, 1.05e-3, 0.9, 0.015)
	d.Softens = Softening{Harden: 0.75 * 1e8 * 1.05e-3}
	for _, c := range [][4]float64{{0.1, -2.2272, 67.0, 1e-3}, {0.3, -2.2440, 200.9, 1e-3}, {1, -2.4242, 668.9, 5e-3}} {
		l := d.Loaded().At(Level{Volt: c[0], Series: 10})
		near(t, "reactance", imag(l.motion(2*math.Pi*30)), c[1], c[3])
		near(t, "excursion", l.Excursion(40)*1e6, c[2], c[3])
	}
	// no level is small signals
	nearC(t, "still", d.Loaded().At(Level{}).Z(40), d.Z(40), 1e-15)
}

// Payne effect in its limits, and what it does to Fs over the levels of a bench: it falls by some percent.
func TestSofteningWithLevel(t *testing.T) {
	s := Softening{Share: 0.1, Knee: 2e-4}
	nearC(t, "rest", s.factor(0), 1, 1e-15)
	nearC(t, "knee", s.factor(2e-4), complex(0.95, 0.025), 1e-12)
	near(t, "beyond", real(s.factor(1)), 0.9, 1e-3)
	for seed := range uint64(20) {
		d := DrawWith(Rand(seed, 106), Plain)
		at := func(volt float64) Values { return d.ValuesAt(Level{Volt: volt, Series: 10}) }
		still, quiet, loud := d.Values(), at(0.01), at(1)
		if fall := 1 - quiet.Fs/still.Fs; fall < 0 || fall > 0.02 {
			t.Errorf("seed %d: Fs falls by %.4f at 10 mV", seed, fall)
		}
		if fall := 1 - loud.Fs/still.Fs; fall < -0.01 || fall > 0.08 || loud.Fs == still.Fs {
			t.Errorf("seed %d: Fs falls by %.4f at 1 V", seed, fall)
		}
	}
}
