package ts

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"
)

// runs returns n sweeps of d in free air that differ from run to run.
func runsOf(d Driver, n int, between betweenRuns, noise float64, rng *rand.Rand) []Sweep {
	var all []Sweep
	for range n {
		e := d
		e.Cms *= math.Exp(between.drift * rng.NormFloat64())
		e.Rms *= math.Exp(between.friction * rng.NormFloat64())
		e.Re *= math.Exp(between.heat * rng.NormFloat64())
		all = append(all, Sweep{Impedance: simulate(e, logFreq(5, 1000, 10), 0, 0, noise, rng)})
	}
	return all
}

// The mean of a few runs that differ by more than their noise must be as
// uncertain as they differ: the 95 % interval holds the truth, also where runs
// differ three times as much as usual, or not at all.
func TestRepeatsCover(t *testing.T) {
	d := exactDriver(lossyLaw{}, 0)
	for _, times := range []float64{0, 3} {
		for _, n := range []int{2, 4} {
			between := betweenRuns{heat: times * usualRuns.heat, drift: times * usualRuns.drift, friction: times * usualRuns.friction}
			const trials = 100
			in, all := 0, 0
			for trial := range uint64(trials) {
				got, err := Fit(runsOf(d, n, between, 0.001, rand.New(rand.NewPCG(trial, uint64(n)))), Conditions{})
				if err != nil {
					t.Fatal(err)
				}
				for id, want := range map[ParamID]float64{Re: d.Re, Fs: d.Fs(), Qms: d.Qms(), Qes: d.Qes()} {
					e, _ := got.Parameters.Get(id)
					all++
					if e.Low <= want && want <= e.High {
						in++
					}
					if id == Fs && e.Budget.Repeat < e.Budget.Noise {
						t.Fatalf("%d runs: the budget of Fs has %v for repeats, %v for noise", n, e.Budget.Repeat, e.Budget.Noise)
					}
				}
			}
			if part := float64(in) / float64(all); part < 0.91 {
				t.Errorf("%d runs, %v times the usual scatter: %.0f %% covered", n, times, 100*part)
			}
		}
	}
}

// The errors of runs that differ as usual are independent: of four runs half
// remains in their mean, and a little more as four say little of the scatter.
func TestRepeatPart(t *testing.T) {
	d := exactDriver(lossyLaw{}, 0)
	parts := map[ParamID][]float64{}
	for trial := range uint64(21) {
		got, err := Fit(runsOf(d, 4, usualRuns, 0.001, rand.New(rand.NewPCG(trial, 8))), Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range []ParamID{Re, Fs, Qms, Qes} {
			e, _ := got.Parameters.Get(id)
			parts[id] = append(parts[id], e.Budget.Repeat/e.Value)
		}
	}
	for id, all := range parts {
		slices.Sort(all)
		if r := all[len(all)/2] / math.Sqrt(usualRunVariance(id, 4)); r < 1 || r > 1.6 {
			t.Errorf("%v: four runs leave %.2f times what is usual", id, r)
		}
	}
}

// A single run knows nothing of repeats.
func TestSingleRunHasNoRepeatPart(t *testing.T) {
	got, err := Fit(runsOf(exactDriver(lossyLaw{}, 0), 1, betweenRuns{}, 0.001, rand.New(rand.NewPCG(1, 1))), Conditions{})
	if err != nil {
		t.Fatal(err)
	}
	for _, e := range got.Parameters.All() {
		if e.Budget.Repeat != 0 {
			t.Errorf("%v has a part of %v for repeats", e.ID, e.Budget.Repeat)
		}
	}
}

// Two drivers are no repeats of one, and a curve that is no driver's is doubted.
func TestUnlikeRepeatsAreNamed(t *testing.T) {
	a, b := courseWithCoil(), courseWithCoil()
	b.Cms *= 0.6
	rng := rand.New(rand.NewPCG(5, 5))
	codes := func(s ...Sweep) map[string]bool {
		f, err := Fit(s, Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		has := map[string]bool{}
		for _, w := range f.Warnings {
			has[w.Code] = true
		}
		return has
	}
	sweep := func(d Driver, noise float64) Sweep {
		return Sweep{Impedance: simulate(d, logFreq(4, 2000, 24), 0, 0, noise, rng)}
	}
	if !codes(sweep(a, 0.002), sweep(b, 0.002))["repeats-differ"] {
		t.Error("two drivers pass as repeats")
	}
	if codes(sweep(a, 0.002), sweep(a, 0.002))["repeats-differ"] {
		t.Error("repeats of one driver are doubted")
	}
	noisy, clean := sweep(a, 0.1), sweep(a, 0.01)
	noisy.Impedance.Sigma, clean.Impedance.Sigma = nil, nil
	if !codes(noisy)["poor-fit"] {
		t.Error("a curve 10 % off any driver's is not doubted")
	}
	if codes(clean)["poor-fit"] {
		t.Error("1 % of noise is doubted")
	}
}

// Two masses that differ little are two errors.
func TestLoadsHaveNamesOfTheirOwn(t *testing.T) {
	a, b := Load{AddedMass, 10e-3, 1e-4}, Load{AddedMass, 10.002e-3, 1e-6}
	if loadSource(a) == loadSource(b) {
		t.Errorf("both are %q", loadSource(a))
	}
	if got := loadSource(Load{AddedMass, 20e-3, 0}); got != "added mass 20 g" {
		t.Errorf("%q", got)
	}
}
