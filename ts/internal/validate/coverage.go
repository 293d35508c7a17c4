package main

import (
	"fmt"
	"math/rand/v2"

	"conewright/ts/internal/estimate"
	"conewright/ts/measured"
)

// writeCoverage counts how often the 95 % interval holds the truth when the
// truth is one of the forms of the ladder, each as often as the others.
func writeCoverage(w *report, part float64) {
	n := runs(10000, part)
	all := make([][]outcome, n)
	parallel(n, func(i int) {
		rng := rand.New(rand.NewPCG(uint64(i), 78))
		t := ladderDriver(i, rng)
		f, err := estimate.Fit([]measured.Sweep{{Impedance: t.sweep(rng, 0, 1, 1)}}, measured.Conditions{})
		if err != nil {
			return
		}
		for _, id := range fromFreeAir {
			o, _ := judge(f, t, id)
			all[i] = append(all[i], o)
		}
	})
	fmt.Fprintf(w, "%d fits of one sweep, every form of the ladder as often: six coils, without and with creep.\nTarget: 94 to 96 %%.\n\n", n)
	fmt.Fprintln(w, "| quantity | all | without creep | with creep | median half-width |")
	fmt.Fprintln(w, "|---|---|---|---|---|")
	refused := 0
	for _, o := range all {
		if o == nil {
			refused++
		}
	}
	for j, id := range fromFreeAir {
		var t [3]tally
		for i, o := range all {
			if o == nil {
				continue
			}
			w.keep("", i, id, o[j])
			t[0].add(o[j])
			t[1+i%2].add(o[j])
		}
		c := t[0].coverage()
		fmt.Fprintf(w, "| %v | %.1f %%%s | %.1f %% | %.1f %% | %.3f %% |\n", id, c, mark(c >= 94 && c <= 96), t[1].coverage(), t[2].coverage(), t[0].medianHalf())
	}
	fmt.Fprintf(w, "\nRefused: %d. One standard error of a coverage of 95 %% in %d fits is %.1f points.\n", refused, n, 100*0.218/sqrt(float64(n)))
}
