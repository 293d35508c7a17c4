package main

import (
	"math/rand/v2"
	"testing"

	"conewright/ts/internal/estimate"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// A reduced and seeded version of docs/validation.md: in the ladder the 95 %
// interval holds the truth about as often as it says, outside of it seldom less
// than nine times in ten.
func TestCoverage(t *testing.T) {
	count := func(n int, draw func(rng *rand.Rand, i int, d *truth)) float64 {
		in := make([]int, n)
		parallel(n, func(i int) {
			rng := rand.New(rand.NewPCG(uint64(i), 5))
			d := randomDriver(rng)
			draw(rng, i, &d)
			f, err := estimate.Fit([]measured.Sweep{{Impedance: d.sweep(rng, 0, 1, 1)}}, measured.Conditions{})
			if err != nil {
				t.Error(err)
				return
			}
			for _, id := range fromFreeAir {
				if o, ok := judge(f, d, id); ok && o.covered {
					in[i]++
				}
			}
		})
		sum := 0
		for _, k := range in {
			sum += k
		}
		return float64(sum) / float64(n*len(fromFreeAir))
	}
	inside := count(180, func(rng *rand.Rand, i int, d *truth) {
		if i%2 == 0 {
			d.creep = 0
		}
		d.coil = coilLaws[i/2%len(coilLaws)].draw(rng, logBetween(rng, 0.3, 2)*d.re)
	})
	if inside < 0.93 || inside > 0.985 {
		t.Errorf("in the ladder: %.1f %% covered", 100*inside)
	}
	outside := count(10*len(outsiders), func(rng *rand.Rand, i int, d *truth) { outsiders[i%len(outsiders)].bend(rng, d) })
	if outside < 0.88 {
		t.Errorf("outside the ladder: %.1f %% covered", 100*outside)
	}
}

// A joint fit with a mass in which the beginning of the skin effect ran off to where it has no effect said that nothing is
// known of Re: six of 5,700 good drivers were refused.
func TestSkinEffectBelowTheSweep(t *testing.T) {
	for _, c := range []struct{ kind, run int }{{1, 93}, {1, 226}, {2, 51}, {2, 143}, {2, 299}, {12, 208}} {
		d, sweeps := drawOutsider(outsiders[c.kind], rand.New(rand.NewPCG(uint64(c.run), outsideSeed+uint64(c.kind))))
		f, err := estimate.Fit(sweeps, measured.Conditions{})
		if err != nil {
			t.Errorf("%s, run %d: %v", outsiders[c.kind].name, c.run, err)
			continue
		}
		if o, ok := judge(f, d, param.Re); !ok || o.half > 0.2 {
			t.Errorf("%s, run %d: Re within %.3g of itself, given %v", outsiders[c.kind].name, c.run, o.half, ok)
		}
	}
}
