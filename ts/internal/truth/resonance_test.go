package truth

import (
	"fmt"
	"math"
	"testing"
)

// Table of an independent program and a circuit simulator: Re 6, Le 0.3 mH, Bl 6, M 12 g, Cms 1 mm/N, Rms 0.9 and
// 1.2 g at 800 Hz.
func TestSecondResonanceAgainstTheTable(t *testing.T) {
	for q, rows := range map[float64]map[float64]complex128{
		20: {100: complex(6.7061, -5.0786), 400: complex(6.0294, -0.3109), 750: complex(6.0543, 1.0534), 800: complex(6.2285, 1.3836),
			820: complex(6.5508, 1.5080), 840: complex(6.9737, 1.0541), 900: complex(6.1376, 0.8929), 1500: complex(6.0045, 2.4958)},
		5: {100: complex(6.7063, -5.0786), 400: complex(6.0325, -0.3112), 750: complex(6.1202, 0.9595), 800: complex(6.2094, 1.0621),
			820: complex(6.2408, 1.0726), 840: complex(6.2531, 1.0693), 900: complex(6.1794, 1.1038), 1500: complex(6.0097, 2.4970)},
	} {
		d := Lumped(6, 0.3e-3, 6, 0.012, 1e-3, 0.9, 0.01)
		r := makeResonator(1.2e-3, 800, q, 0)
		near(t, "spring", r.K, 30319.4247, 1e-8)
		near(t, "loss", r.R, 6.0318579/q, 1e-7)
		d.Resonators = []Resonator{r}
		for f, want := range rows {
			nearC(t, "Z", d.Z(f), want, 2e-5)
		}
		near(t, "main resonance", d.Values().Fs, 43.806, 0.001) // its table adds the two masses
	}
}

func TestResonatorHeldAtTheFrame(t *testing.T) {
	r := makeResonator(2e-3, 600, 10, 300)
	near(t, "frequency", r.Frequency(), 600, 1e-12)
	near(t, "static", r.static(), 300, 1e-9)
	// Far below its resonance it is that spring: Zc jω → K.
	const w = 1.0
	near(t, "felt", real(r.Impedance(w)*jw(w)), 300, 1e-3)
}

// Drawn second resonances have the size that was asked for, within the band that is common.
func TestSizeOfDrawnResonances(t *testing.T) {
	for seed := range seeds(100) {
		size := 0.05 + 0.25*float64(seed)/99
		d := DrawWith(Rand(seed, 105), Choice{Resonance: size, Calm: true, Inch: 8})
		near(t, fmt.Sprint("size, seed ", seed), d.ResonanceSize(0), size, 0.01)
		if f := d.Resonators[0].Frequency(); f < 300 || f > 1000 {
			t.Errorf("second resonance of an 8-inch driver at %.0f Hz", f)
		}
		// It leaves the main resonance where it was meant to be: a driver drawn without it differs by little.
		plain := DrawWith(Rand(seed, 105), Choice{Resonance: -1, Calm: true, Inch: 8}).Values()
		if r := d.Values().Fs / plain.Fs; math.Abs(r-1) > 0.09 {
			t.Errorf("seed %d: the second resonance moves Fs by %.3f", seed, r)
		}
	}
}
