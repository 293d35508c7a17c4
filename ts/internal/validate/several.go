package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"conewright/ts/measured"
	"conewright/ts/param"
)

// severals are drivers that were swept several times.
var severals = []struct {
	name string
	take func(rng *rand.Rand, t truth) []measured.Sweep
}{
	{"free air, three masses", func(rng *rand.Rand, t truth) []measured.Sweep {
		all := []measured.Sweep{{Impedance: t.sweep(rng, 0, 1, 1)}}
		for _, part := range []float64{0.4, 0.8, 1.2} {
			dM := part * t.mms
			all = append(all, measured.Sweep{Impedance: t.sweep(rng, dM, math.Exp(0.01*rng.NormFloat64()), 1+0.003*rng.NormFloat64()),
				Load: measured.Load{Kind: measured.AddedMass, Value: dM}})
		}
		return all
	}},
	{"three runs in free air", func(rng *rand.Rand, t truth) []measured.Sweep { return runsOf(rng, t, 3, 1) }},
	{"eight runs in free air", func(rng *rand.Rand, t truth) []measured.Sweep { return runsOf(rng, t, 8, 1) }},
	{"three runs that differ three times as much", func(rng *rand.Rand, t truth) []measured.Sweep { return runsOf(rng, t, 3, 3) }},
	{"eight runs that differ three times as much", func(rng *rand.Rand, t truth) []measured.Sweep { return runsOf(rng, t, 8, 3) }},
}

// runsOf returns n sweeps in free air that differ by times 0.3 % of stiffness, 1 %
// of the losses and 0.1 % of Re, standard deviations.
func runsOf(rng *rand.Rand, t truth, n int, times float64) []measured.Sweep {
	var all []measured.Sweep
	for range n {
		run := t
		run.qms *= math.Exp(0.01 * times * rng.NormFloat64())
		all = append(all, measured.Sweep{Impedance: run.sweep(rng, 0, math.Exp(0.003*times*rng.NormFloat64()), 1+0.001*times*rng.NormFloat64())})
	}
	return all
}

// writeSeveral counts how often the 95 % interval holds the truth where several
// sweeps of a driver were taken.
func writeSeveral(w *report, part float64) {
	n := runs(300, part)
	ids := []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts, param.Mms}
	fmt.Fprintf(w, "%d drivers of each kind, half of them with creep, coils of all laws in turn. Between two sweeps the stiffness moves by 0.3 %%, the\nlosses by 1 %%, Re by 0.1 %% (standard deviations); with the masses by 1 %%, not at all and 0.3 %%.\n\n", n)
	fmt.Fprintln(w, "| sweeps | Re | Fs | Qms | Qes | Qts | Mms | median half-width Re, Fs, Qms, Qes, Qts, Mms | refused |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|---|---|")
	for k, s := range severals {
		t, refused := simulate(w, s.name, n, 3000+uint64(k), ids, func(i int, rng *rand.Rand) (truth, []measured.Sweep) {
			t := ladderDriver(i, rng)
			return t, s.take(rng, t)
		})
		fmt.Fprintf(w, "| %s |", s.name)
		halves := ""
		for j := range t {
			if len(t[j].off) == 0 { // no mass, no Mms
				fmt.Fprint(w, " |")
				continue
			}
			c := t[j].coverage()
			fmt.Fprintf(w, " %.0f%s |", c, mark(c >= 90))
			halves += fmt.Sprintf(", %.2g", t[j].medianHalf())
		}
		fmt.Fprintf(w, " %s %% | %d |\n", halves[2:], refused)
	}
}
