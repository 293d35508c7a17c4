package main

import (
	"fmt"

	"conewright/ts"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/param"
)

const meterSeed = 120600

// printMeter: a sweep with a meter reading of Re that is right, or has one slip of the fingers.
func printMeter(runs int) {
	fmt.Printf("\nA meter beside the sweep, calibrated inputs, %d drivers a row, seeds from %d, %%\n\n", runs, meterSeed+*later)
	row("reading", "Re held", "Qes held", "not joined", "refused")
	fmt.Println("|---|---|---|---|---|")
	for _, slip := range []bool{false, true} {
		re, qes, apart, refused := make([]bool, runs), make([]bool, runs), make([]bool, runs), make([]bool, runs)
		parallel(runs, func(i int) {
			all, _ := truth.Repeats(meterSeed+*later+uint64(i), truth.Plain, truth.Bench{}, truth.Again, 1)
			t := all[0]
			m := t.Meter
			if slip {
				m = m.Typo(truth.Rand(meterSeed+*later+uint64(i), 77))
			}
			b := told(truth.ResistorFirst, t.Resistor)
			f, err := ts.Fit([]measured.Sweep{{Impedance: calibrated(t.Sweep, b)}}, measured.Conditions{DCRe: param.Quantity{Value: m.Ohm, Std: m.Std}})
			if refused[i] = err != nil; refused[i] {
				return
			}
			a, _ := f.Parameters.Get(param.Re)
			q, _ := f.Parameters.Get(param.Qes)
			re[i] = a.Low <= t.Truth.Re && t.Truth.Re <= a.High
			qes[i] = q.Low <= t.Truth.Qes && t.Truth.Qes <= q.High
			apart[i] = f.Parameters.MeterOff != 0
		})
		n := runs - count(refused)
		percent := func(v []bool) string { return fmt.Sprintf("%.0f", 100*float64(count(v))/float64(max(n, 1))) }
		row(map[bool]string{false: "right", true: "one slip"}[slip], percent(re), percent(qes), percent(apart), count(refused))
	}
}

func count(v []bool) (n int) {
	for _, x := range v {
		if x {
			n++
		}
	}
	return n
}
