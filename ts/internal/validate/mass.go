package main

import (
	"fmt"
	"math"
	"math/rand/v2"

	"conewright/ts/internal/estimate"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// writeMass compares the joint fit with the classical formula for the moving
// mass, for drivers whose suspension creeps and drifts.
func writeMass(w *report, part float64) {
	n := runs(300, part)
	type result struct {
		ok      bool
		joint   outcome
		off     [3]float64 // frequencies, Qes/Fs, joint fit: logarithm of found over true
		present [3]bool
	}
	fmt.Fprintf(w, "%d drivers each, creep 0.02 to 0.2 a decade, coils of all laws in turn, a mass of 0.6 to 1.2 Mms. Target: the rms error of the\njoint fit is at most a third of that of the formula that uses the two frequencies alone.\n\n", n)
	fmt.Fprintln(w, "| drift of stiffness | frequencies, rms error | Qes/Fs | joint fit | joint over frequencies | joint fit covers |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|")
	for k, drift := range []float64{0, 0.01, 0.02} {
		all := make([]result, n)
		parallel(n, func(i int) {
			rng := rand.New(rand.NewPCG(uint64(i), 90+uint64(k)))
			t := randomDriver(rng)
			t.coil = coilLaws[i%len(coilLaws)].draw(rng, logBetween(rng, 0.3, 2)*t.re)
			dM := t.mms * between(rng, 0.6, 1.2)
			f, err := estimate.Fit([]measured.Sweep{
				{Impedance: t.sweep(rng, 0, 1, 1)},
				{Impedance: t.sweep(rng, dM, math.Exp(drift*rng.NormFloat64()), 1+0.003*rng.NormFloat64()), Load: measured.Load{Kind: measured.AddedMass, Value: dM}},
			}, measured.Conditions{})
			if err != nil {
				return
			}
			r := result{ok: true}
			r.joint, _ = judge(f, t, param.Mms)
			for _, m := range f.Methods {
				for j, name := range []string{"frequencies", "Qes/Fs", "joint fit"} {
					if m.Name == name {
						r.off[j], r.present[j] = math.Log(m.Value/t.mms), true
					}
				}
			}
			all[i] = r
		})
		var joint tally
		var by [3]tally
		for i, r := range all {
			if !r.ok {
				continue
			}
			w.keep(fmt.Sprintf("drift of %v %%", 100*drift), i, param.Mms, r.joint)
			joint.add(r.joint)
			for j := range by {
				if r.present[j] {
					by[j].add(outcome{off: r.off[j]})
				}
			}
		}
		ratio := by[2].rms() / by[0].rms()
		fmt.Fprintf(w, "| %.0f %% | %.2f %% | %.2f %% | %.2f %% | %.2f%s | %.0f %% |\n", 100*drift, by[0].rms(), by[1].rms(), by[2].rms(), ratio, mark(ratio <= 1./3), joint.coverage())
	}
}
