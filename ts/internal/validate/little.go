package main

import (
	"fmt"
	"math/cmplx"
	"math/rand/v2"

	"conewright/ts/driver"
	"conewright/ts/measured"
)

// littles are kinds of sweeps that say less, or more, than that of a recording.
var littles = []struct {
	name string
	take func(rng *rand.Rand, t *truth) measured.Impedance
}{
	{"noise not stated", func(rng *rand.Rand, t *truth) measured.Impedance {
		z := t.sweep(rng, 0, 1, 1)
		z.Sigma = nil
		return z
	}},
	{"magnitude alone, noise not stated", func(rng *rand.Rand, t *truth) measured.Impedance {
		if _, ok := t.coil.(driver.PowerCoil); ok {
			lossyCoil(rng, t)
		}
		return magnitude(t.sweep(rng, 0, 1, 1))
	}},
	{"magnitude alone, coil: power law, which no circuit obeys", func(rng *rand.Rand, t *truth) measured.Impedance {
		t.coil = coilLaws[len(coilLaws)-1].draw(rng, logBetween(rng, 0.3, 2)*t.re)
		return magnitude(t.sweep(rng, 0, 1, 1))
	}},
	{"by hand: magnitude at 14 frequencies, 0.3 %", func(rng *rand.Rand, t *truth) measured.Impedance {
		t.noise = 3e-3
		t.freq = nil
		for _, x := range []float64{0.2, 0.35, 0.55, 0.7, 0.8, 0.9, 0.97, 1.03, 1.12, 1.25, 1.5, 2.2} {
			t.freq = append(t.freq, x*t.fs)
		}
		t.freq = append(t.freq, 5*t.fs, 1000)
		return magnitude(t.sweep(rng, 0, 1, 1))
	}},
	{"by hand: magnitude at 10 frequencies, 0.3 %", func(rng *rand.Rand, t *truth) measured.Impedance {
		t.noise = 3e-3
		t.freq = nil
		for _, x := range []float64{0.25, 0.5, 0.75, 0.9, 1, 1.1, 1.35, 2, 4} {
			t.freq = append(t.freq, x*t.fs)
		}
		t.freq = append(t.freq, 1000)
		return magnitude(t.sweep(rng, 0, 1, 1))
	}},
	{"up to 20 kHz", func(rng *rand.Rand, t *truth) measured.Impedance {
		t.freq = logGrid(t.freq[0], 20000, between(rng, 16, 40))
		return t.sweep(rng, 0, 1, 1)
	}},
	{"up to 20 kHz, coil: three RL sections", func(rng *rand.Rand, t *truth) measured.Impedance {
		outsiders[0].bend(rng, t)
		t.freq = logGrid(t.freq[0], 20000, between(rng, 16, 40))
		return t.sweep(rng, 0, 1, 1)
	}},
}

// magnitude drops the phase and the noise of a sweep.
func magnitude(z measured.Impedance) measured.Impedance {
	for i, v := range z.Z {
		z.Z[i] = complex(cmplx.Abs(v), 0)
	}
	z.MagnitudeOnly, z.Sigma = true, nil
	return z
}

// writeLittle counts how often the 95 % interval holds the truth when a sweep has
// no phase, no stated noise or few points, and when it goes far beyond the
// frequencies that matter.
func writeLittle(w *report, part float64) {
	n := runs(300, part)
	fmt.Fprintf(w, "%d drivers of each kind, half of them with creep, coils of all laws in turn where none is named; one\nsweep in free air.\n\n", n)
	fmt.Fprintln(w, "| sweep | Re | Fs | Qms | Qes | Qts | median half-width Re, Fs, Qms, Qes, Qts | refused |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|---|")
	for k, l := range littles {
		t, refused := simulate(w, l.name, n, 2000+uint64(k), fromFreeAir, func(i int, rng *rand.Rand) (truth, []measured.Sweep) {
			t := ladderDriver(i, rng)
			return t, []measured.Sweep{{Impedance: l.take(rng, &t)}}
		})
		fmt.Fprintf(w, "| %s |", l.name)
		for j := range t {
			c := t[j].coverage()
			fmt.Fprintf(w, " %.0f%s |", c, mark(c >= 90))
		}
		fmt.Fprintf(w, " %.2f, %.3f, %.2f, %.2f, %.2f %% | %d |\n", t[0].medianHalf(), t[1].medianHalf(), t[2].medianHalf(), t[3].medianHalf(), t[4].medianHalf(), refused)
	}
}
