package main

import (
	"fmt"
	"math"

	"conewright/ts"
	population "conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// healthySeed is the first seed of the drivers.
const healthySeed = 2700000

// healthyLimits are the relative limits of the sheet.
var healthyLimits = []struct {
	id param.ID
	by float64
}{{param.Re, 0.05}, {param.Fs, 0.05}, {param.Qts, 0.08}}

// writeHealthy counts how often a healthy woofer with a second resonance of 5 to 30 % of |Z| is found within its sheet.
func writeHealthy(w *report, part float64) {
	n := runs(120, part)
	fmt.Fprintf(w, "Woofers with a second resonance of 5 to 30 %% of |Z| at 300 to 1,000 Hz, exported as above, against a sheet with limits of 5 %% for Re, 5 %% for\nFs and 8 %% for Qts. %d a row, seeds from %d on. *Off by up to a half*: the true values lie as far from the middle of their\nlimits, by lot. Target: 90 %% in spec, none out of spec.\n\n", n, healthySeed)
	fmt.Fprintln(w, "| true values | in spec | undecided | out of spec | refused | second resonance named | its frequency within 5 % |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|")
	for _, row := range []struct {
		name string
		off  float64 // of the limits
	}{{"in the middle", 0}, {"off by up to a quarter", 0.25}, {"off by up to a half", 0.5}} {
		count := make([]map[string]int, n)
		parallel(n, func(i int) {
			count[i] = map[string]int{}
			seed := healthySeed + uint64(i)
			rng := population.Rand(seed, 990)
			file := population.Healthy(seed, 0.05+0.25*rng.Float64())
			truth := map[param.ID]float64{param.Re: file.Truth.Re, param.Fs: file.Truth.Fs, param.Qts: file.Truth.Qts}
			var sheet verdict.Spec
			for _, l := range healthyLimits {
				middle := truth[l.id] / (1 + row.off*l.by*(2*rng.Float64()-1))
				sheet.Limits = append(sheet.Limits, verdict.Limit{ID: l.id, Lo: middle * (1 - l.by), Hi: middle * (1 + l.by)})
			}
			f, err := ts.Fit([]measured.Sweep{{Impedance: tableImpedance(file.Table)}}, measured.Conditions{})
			if err != nil {
				count[i]["refused"]++
				return
			}
			checked, err := verdict.Check(f.Parameters, sheet)
			if err != nil {
				count[i]["refused"]++
				return
			}
			if z := f.Second; z != nil {
				count[i]["named"]++
				if r := file.Driver.Resonators; len(r) > 0 && math.Abs(z.Frequency/r[0].Frequency()-1) < 0.05 {
					count[i]["right"]++
				}
			}
			switch checked.Verdict {
			case verdict.InSpec:
				count[i]["in"]++
			case verdict.OutOfSpec:
				count[i]["out"]++
			}
		})
		sum := map[string]int{}
		for _, c := range count {
			for k, v := range c {
				sum[k] += v
			}
		}
		in, out := 100*float64(sum["in"])/float64(n), 100*float64(sum["out"])/float64(n)
		undecided := 100*float64(n-sum["refused"])/float64(n) - in - out
		fmt.Fprintf(w, "| %s | %.0f %%%s | %.0f %% | %.0f %%%s | %d | %d | %d |\n", row.name, in, mark(in >= 90), undecided, out, mark(out == 0), sum["refused"],
			sum["named"], sum["right"])
	}
}
