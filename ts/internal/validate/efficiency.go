package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"conewright/ts/internal/estimate"
	"conewright/ts/measured"
	"conewright/ts/param"
)

var fromFreeAir = []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts}

// writeEfficiency fits one sweep of drivers with creep and a coil of each law of
// the ladder, and holds the error against the bound for someone who knows which
// law it is.
func writeEfficiency(w *report, part float64) {
	drivers, draws := runs(1000, part), 5
	ratio := make([][]float64, drivers*draws) // error over bound, by quantity
	parallel(drivers, func(i int) {
		rng := rand.New(rand.NewPCG(uint64(i), 77))
		t := randomDriver(rng)
		t.coil = coilLaws[i%len(coilLaws)].draw(rng, logBetween(rng, 0.3, 2)*t.re)
		values, build := coilValues(t.coil)
		least := bound(t, build, values, []float64{0}, 0.02, fromFreeAir)
		for k := range draws {
			f, err := estimate.Fit([]measured.Sweep{{Impedance: t.sweep(rng, 0, 1, 1)}}, measured.Conditions{})
			if err != nil {
				continue
			}
			r := make([]float64, len(fromFreeAir))
			for j, id := range fromFreeAir {
				o, _ := judge(f, t, id)
				r[j] = o.off / least[j]
			}
			ratio[i*draws+k] = r
		}
	})
	fmt.Fprintf(w, "%d drivers with creep, %d sweeps each, coils of all laws in turn. The bound is that of someone\nwho knows the law of the coil. Target: root mean square error at most 1.05 times the bound.\n\n", drivers, draws)
	fmt.Fprintln(w, "| quantity | rms error over the bound |")
	fmt.Fprintln(w, "|---|---|")
	for j, id := range fromFreeAir {
		var s, n float64
		for i, r := range ratio {
			if r != nil {
				w.keep("", i, id, outcome{off: r[j]})
				s += r[j] * r[j]
				n++
			}
		}
		e := math.Sqrt(s / n)
		fmt.Fprintf(w, "| %v | %.3f%s |\n", id, e, mark(e <= 1.05))
	}
	refused := 0
	for _, r := range ratio {
		if r == nil {
			refused++
		}
	}
	fmt.Fprintf(w, "\nRefused: %d of %d. Values below 1 are chance and the pull of simpler models of the ladder.\n", refused, len(ratio))
}
