package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
)

// The thinned input only finds the way: minima are those of all points, and a
// form is ruled out only if all points would rule it out as well.
func TestExploreAgainstWholeLadder(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 6))
	for _, freq := range [][]float64{simulated.LogFreq(5, 2000, 40), linearFreq(2, 1000, 2)} {
		for _, law := range law.Ladder[2:5] {
			for _, creep := range []float64{0, 0.1} {
				d := exactDriver(law, creep)
				in := inputOf([]measured.Sweep{
					{Impedance: simulated.Simulate(d, freq, 0, 0, 0.003, rng)},
					{Impedance: simulated.Simulate(d, freq, 0.06, 0, 0.003, rng), Load: measured.Load{Kind: measured.AddedMass, Value: 0.06}},
				}, measured.Conditions{})
				if thin, _ := in.thinned(); len(thin.obs[0].z) > len(freq)/2 {
					t.Fatalf("only thinned to %d of %d points", len(thin.obs[0].z), len(freq))
				}
				whole, explored := in.ladder(scanTol), in.explore()
				top := math.Inf(-1)
				for _, s := range whole {
					top = max(top, evidenceOf(in, s))
				}
				for _, w := range whole {
					i := slices.IndexFunc(explored, func(s *solution) bool { return s.prob.form == w.prob.form })
					likely := evidenceOf(in, w) > top-thinDoubt
					if i < 0 {
						// Unknowns that do not help may run away on fewer points.
						idle := slices.ContainsFunc(explored, func(s *solution) bool { return s.chi2 < w.chi2+6 })
						if likely && !idle {
							t.Errorf("%s, creep %v: %v is missing (condition %.1e)", law.Name(), creep, w.prob.form, w.result.Condition)
						}
						continue
					}
					e := explored[i]
					if e.ruledOut {
						if likely {
							t.Errorf("%s, creep %v: %v is ruled out at the log odds %v", law.Name(), creep, e.prob.form, evidenceOf(in, w)-top)
						}
						continue
					}
					// Both stop at the offset scanTol: a difference of chi2 of 2 scanTol^2 chi2.
					if math.Abs(e.chi2-w.chi2) > 1e-6*w.chi2 {
						t.Errorf("%s, creep %v: %v has chi2 %v, from the whole ladder %v", law.Name(), creep, e.prob.form, e.chi2, w.chi2)
					}
				}
			}
		}
	}
}

func linearFreq(lo, hi, step float64) []float64 {
	var f []float64
	for v := lo; v <= hi; v += step {
		f = append(f, v)
	}
	return f
}

func TestThinPoints(t *testing.T) {
	for _, freq := range [][]float64{simulated.LogFreq(5, 2000, 96), simulated.LogFreq(5, 2000, 12), linearFreq(1, 20000, 1), {10, 20, 30}} {
		keep := thinPoints(freq, 30, 30)
		if keep[0] != 0 || keep[len(keep)-1] != len(freq)-1 {
			t.Errorf("ends are not kept: %v", keep)
		}
		if !slices.IsSorted(keep) {
			t.Errorf("not in order: %v", keep)
		}
		// No gap is opened beyond the spacing asked for plus one step of the sweep.
		for k := 1; k < len(keep); k++ {
			a, b := keep[k-1], keep[k]
			if b > a+1 && freq[b-1] > freq[a]*math.Exp2(thinElsewhere) {
				t.Errorf("gap from %v to %v Hz", freq[a], freq[b])
			}
		}
	}
	if n := len(thinPoints(linearFreq(1, 20000, 1), 30, 30)); n > 150 {
		t.Errorf("%d points of a linear sweep are kept", n)
	}
	if n := len(thinPoints(simulated.LogFreq(5, 2000, 6), 30, 30)); n != len(simulated.LogFreq(5, 2000, 6)) {
		t.Errorf("a table of few points lost some: %d", n)
	}
}

// The form that made the sweep must fit it at least as well as the truth does:
// otherwise the ladder is stuck in a local minimum. Random drivers from
// small to large, on log and on linear frequencies.
func TestLadderFindsTheMinimum(t *testing.T) {
	rng := rand.New(rand.NewPCG(7, 8))
	between := func(lo, hi float64) float64 { return lo * math.Pow(hi/lo, rng.Float64()) }
	for i := range 600 {
		law := law.Ladder[1+i%(len(law.Ladder)-1)]
		p := slices.Clone(testCoils[law.Name()])
		for j, u := range law.Unknowns() {
			if u.Exponent {
				p[j] += 0.15 * rng.NormFloat64()
			} else {
				p[j] += 0.5 * rng.NormFloat64()
			}
		}
		fs, re := between(18, 150), between(3, 12)
		d := driver.Driver{Re: re, Mms: between(0.005, 0.3), Coil: law.Coil(p)}
		if i%4 < 3 {
			d.Creep = 0.2 * rng.Float64()
		}
		ws := 2 * math.Pi * fs
		d.Cms = 1 / (ws * ws * d.Mms)
		d.Rms = ws * d.Mms / between(1.5, 12)
		d.BL = math.Sqrt(ws * d.Mms * re / between(0.2, 1.5))
		freq := simulated.LogFreq(5, 2000, 24)
		if i%2 == 1 {
			freq = linearFreq(4, 1500, 4)
		}
		z := simulated.Simulate(d, freq, 0, 0, 0.003, rng)
		if measured.CheckSweep(z) != nil {
			continue // no clear peak
		}
		in := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		truth := 0.0
		for k, f := range freq {
			e := d.Impedance(f) - z.Z[k]
			truth += (real(e)*real(e) + imag(e)*imag(e)) / (z.Sigma[k] * z.Sigma[k])
		}
		best := math.Inf(1)
		for _, s := range in.explore() {
			if !s.ruledOut {
				best = min(best, s.chi2)
			}
		}
		if best > truth+5 {
			t.Errorf("%s creep %.3f fs %.1f qms %.2f qes %.2f: chi2 %.1f, of the truth %.1f", law.Name(), d.Creep, fs, d.Qms(), d.Qes(), best, truth)
		}
	}
}

func evidenceOf(in input, s *solution) float64 {
	e, _ := in.evidence(s)
	return e
}
