package main

import (
	"math"
	"math/rand/v2"
	"slices"

	"conewright/ts/fitted"
	"conewright/ts/internal/estimate"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// outcome is what one fit said about one quantity.
type outcome struct {
	off     float64 // logarithm of found over true
	half    float64 // relative half-width of the 95 % interval
	covered bool
}

// tally collects the outcomes of one quantity.
type tally struct {
	off, half []float64
	covered   int
}

func (t *tally) add(o outcome) {
	t.off = append(t.off, o.off)
	t.half = append(t.half, o.half)
	if o.covered {
		t.covered++
	}
}

func (t *tally) coverage() float64 { return 100 * float64(t.covered) / float64(len(t.off)) }

func (t *tally) medianHalf() float64 { return 100 * median(t.half) }

func (t *tally) rms() float64 {
	var s float64
	for _, v := range t.off {
		s += v * v
	}
	return 100 * math.Sqrt(s/float64(len(t.off)))
}

func median(v []float64) float64 {
	if len(v) == 0 {
		return math.NaN()
	}
	s := slices.Clone(v)
	slices.Sort(s)
	return s[len(s)/2]
}

// judge compares a fit with the truth.
func judge(f *fitted.Result, t truth, id param.ID) (outcome, bool) {
	e, ok := f.Parameters.Get(id)
	if !ok {
		return outcome{}, false
	}
	want := t.value(id)
	return outcome{off: math.Log(e.Value / want), half: (e.High - e.Low) / 2 / e.Value, covered: e.Low <= want && want <= e.High}, true
}

// simulate fits n drivers and collects what the fits say about ids. draw returns
// the driver i and its sweeps. What a fit does not give is not counted.
func simulate(w *report, row string, n int, seed uint64, ids []param.ID, draw func(i int, rng *rand.Rand) (truth, []measured.Sweep)) (all []tally, refused int) {
	type fitted struct {
		outcome
		ok bool
	}
	found := make([][]fitted, n)
	parallel(n, func(i int) {
		t, sweeps := draw(i, rand.New(rand.NewPCG(uint64(i), seed)))
		f, err := estimate.Fit(sweeps, measured.Conditions{})
		if err != nil {
			return
		}
		for _, id := range ids {
			o, ok := judge(f, t, id)
			found[i] = append(found[i], fitted{o, ok})
		}
	})
	all = make([]tally, len(ids))
	for i, f := range found {
		if f == nil {
			refused++
			continue
		}
		for j, o := range f {
			if o.ok {
				w.keep(row, i, ids[j], o.outcome)
				all[j].add(o.outcome)
			}
		}
	}
	return all, refused
}
