package main

import (
	"fmt"
	"math"
	"slices"

	"conewright/ts"
	"conewright/ts/internal/truth"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// held counts how often intervals hold the truth, and how wide they are.
type held struct {
	n, in int
	half  []float64 // relative half-width
	far   []float64 // distance from the truth in half-widths
}

func (h *held) add(e param.Estimate, want float64) {
	h.n++
	if e.Low <= want && want <= e.High {
		h.in++
	}
	h.far = append(h.far, math.Abs(e.Value-want)/((e.High-e.Low)/2))
	h.half = append(h.half, (e.High-e.Low)/2/e.Value)
}

func (h *held) String() string {
	if h.n == 0 {
		return ""
	}
	slices.Sort(h.half)
	slices.Sort(h.far)
	return fmt.Sprintf("[%.2f] %.0f (%.2g)", h.far[len(h.far)*9/10], 100*float64(h.in)/float64(h.n), 100*h.half[len(h.half)/2])
}

var electrical = []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts}

const inputsSeed = 120400

// printInputs: one sweep through inputs that were not calibrated and differ by 0.05 dB and in their AC coupling,
// 2.0 against 2.4 Hz.
func printInputs(runs int) {
	fmt.Printf("\nUncalibrated inputs, %d drivers a row, seeds from %d: [half-widths within which nine tenths lie] intervals that hold the truth, %% (median half-width, %%)\n\n", runs, inputsSeed+*later)
	row("wiring", "Re", "Fs", "Qms", "Qes", "Qts", "refused")
	fmt.Println("|---|---|---|---|---|---|---|")
	uncalibrated := func(w truth.Wiring) func(seed uint64) truth.Taken {
		return func(seed uint64) truth.Taken { return truth.Uncalibrated(seed, truth.Plain, w) }
	}
	equal := func(seed uint64) truth.Taken {
		all, _ := truth.Repeats(seed, truth.Plain, truth.Bench{}, truth.Again, 1)
		return all[0]
	}
	for _, w := range []struct {
		name   string
		wiring truth.Wiring
		take   func(seed uint64) truth.Taken
	}{
		{"resistor first", truth.ResistorFirst, uncalibrated(truth.ResistorFirst)},
		{"driver first", truth.DriverFirst, uncalibrated(truth.DriverFirst)},
		{"probes", truth.Probes, uncalibrated(truth.Probes)},
		{"equal inputs, resistor first", truth.ResistorFirst, equal},
	} {
		found := make([]*param.Parameters, runs)
		want := make([]truth.Values, runs)
		parallel(runs, func(i int) {
			taken := w.take(inputsSeed + *later + uint64(i))
			want[i] = taken.Truth
			z := impedance(taken.Sweep, told(w.wiring, taken.Resistor))
			if f, err := ts.Fit([]measured.Sweep{{Impedance: z}}, measured.Conditions{}); err == nil {
				found[i] = &f.Parameters
			}
		})
		all, refused := make([]held, len(electrical)), 0
		for i, p := range found {
			if p == nil {
				refused++
				continue
			}
			for k, id := range electrical {
				e, _ := p.Get(id)
				all[k].add(e, trueValue(want[i], id))
			}
		}
		row(w.name, &all[0], &all[1], &all[2], &all[3], &all[4], refused)
	}
}
