package truth

import (
	"math"
	"math/rand/v2"
	"slices"
)

// withModes gives the cone what every real cone has above the band in which it is rigid: in three of four a
// break-up around 9 kHz over the size in inches that moves |Z| by 3 to 25 %, and many small resonances, each a
// part of the mass on a spring, two an octave or so. They are passive by construction. The sizes are widths of
// this population and were set against two measured drivers (docs/population.md).
func withModes(rng *rand.Rand, d Driver) Driver {
	if chance(rng, 0.75) {
		f := clamp(lognormal(rng, 9000/d.Inch, 0.25), 900, 4500)
		d = d.WithResonance(betweenLog(rng, 0.03, 0.25), f, between(rng, 8, 25), 0)
	}
	d.Resonators = slices.Clone(d.Resonators)
	free := d.Mmd
	first := clamp(lognormal(rng, 3000/d.Inch, 0.25), 350, 2000)
	for f := first; f < 6000; f *= math.Exp2(betweenLog(rng, 0.25, 0.9)) {
		m := lognormal(rng, 0.012, 0.8) * free
		if d.Mmd-m < 0.5*free {
			break
		}
		d.Mmd -= m
		d.Resonators = append(d.Resonators, makeResonator(m, f, betweenLog(rng, 5, 25), 0))
	}
	return d
}
