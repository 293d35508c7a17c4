package main

import (
	"fmt"
	"math"
	"math/cmplx"
	"strconv"
	"strings"

	"conewright/ts/internal/estimate"
	population "conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// exported is a kind of file of package truth, which the estimator was not tuned on.
type exported struct {
	name  string
	files func(seed uint64) []population.File
}

var exports = []exported{
	{"one file", func(seed uint64) []population.File {
		return []population.File{population.RealFile(seed, population.Choice{})}
	}},
	{"four files", func(seed uint64) []population.File {
		return population.RealFiles(seed, population.Choice{}, population.CommonBench(0.005), 4)
	}},
	{"woofer, second resonance of 5 %", func(seed uint64) []population.File { return []population.File{population.Healthy(seed, 0.05)} }},
	{"woofer, second resonance of 15 %", func(seed uint64) []population.File { return []population.File{population.Healthy(seed, 0.15)} }},
	{"woofer, second resonance of 30 %", func(seed uint64) []population.File { return []population.File{population.Healthy(seed, 0.3)} }},
}

// exportSeed is the first seed of the files.
const exportSeed = 613000

// tableImpedance is a table as its file holds it: six digits of the frequency, five of the rest.
func tableImpedance(t population.Table) measured.Impedance {
	var z measured.Impedance
	digits := func(v float64, n int) float64 {
		x, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', n, 64), 64)
		if err != nil {
			panic(err)
		}
		return x
	}
	for i, f := range t.F {
		z.Freq = append(z.Freq, digits(f, 6))
		z.Z = append(z.Z, cmplx.Rect(digits(t.Mag[i], 5), digits(t.Phase[i], 5)*math.Pi/180))
	}
	return z
}

// writeExports counts how often the 95 % interval holds the truth of exported files, and says how wide it is.
func writeExports(w *report, part float64) {
	n := runs(120, part)
	ids := fromFreeAir
	fmt.Fprintf(w, "Files of drivers that follow no law, as programs export them ([population](population.md)): coarse lines held or\ninterpolated, half of them smoothed, a misfit of 1 to 2.5 %% rms without a law. %d of each kind, seeds from %d on. Target: 90 %%\nheld, half-width of Qts at most 4 %%.\n\n", n, exportSeed)
	fmt.Fprintln(w, "| files | Re | Fs | Qms | Qes | Qts | rms error Re, Fs, Qms, Qes, Qts | median half-width Re, Fs, Qms, Qes, Qts | refused |")
	fmt.Fprintln(w, "|---|---|---|---|---|---|---|---|---|")
	for _, kind := range exports {
		all := make([][]outcome, n)
		parallel(n, func(i int) {
			var sweeps []measured.Sweep
			files := kind.files(exportSeed + uint64(i))
			var mean [5]float64
			for _, f := range files {
				sweeps = append(sweeps, measured.Sweep{Impedance: tableImpedance(f.Table)})
				for j, v := range []float64{f.Truth.Re, f.Truth.Fs, f.Truth.Qms, f.Truth.Qes, f.Truth.Qts} {
					mean[j] += v / float64(len(files))
				}
			}
			f, err := estimate.Fit(sweeps, measured.Conditions{})
			if err != nil {
				return
			}
			for j, id := range ids {
				e, _ := f.Parameters.Get(id)
				all[i] = append(all[i], outcome{off: math.Log(e.Value / mean[j]), half: (e.High - e.Low) / 2 / e.Value, covered: e.Low <= mean[j] && mean[j] <= e.High})
			}
		})
		t, refused := make([]tally, len(ids)), 0
		for i, o := range all {
			if o == nil {
				refused++
				continue
			}
			for j, id := range ids {
				w.keep(kind.name, i, id, o[j])
				t[j].add(o[j])
			}
		}
		fmt.Fprintf(w, "| %s |", kind.name)
		var errors, halves []string
		for j, id := range ids {
			c := t[j].coverage()
			fmt.Fprintf(w, " %.0f%s |", c, mark(c >= 90))
			errors = append(errors, fmt.Sprintf("%.2f", t[j].rms()))
			half := fmt.Sprintf("%.2f", t[j].medianHalf())
			if id == param.Qts {
				half += mark(t[j].medianHalf() <= 4)
			}
			halves = append(halves, half)
		}
		fmt.Fprintf(w, " %s %% | %s %% | %d |\n", strings.Join(errors, ", "), strings.Join(halves, ", "), refused)
	}
}
