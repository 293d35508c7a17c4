package estimate

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"
)

// scattered are the standard deviations of the logarithms of Re, stiffness and viscous loss.
type scattered struct{ Heat, Drift, Friction float64 }

// usually is what repeat.Usual says of sweeps taken again.
var usually = scattered{Heat: repeat.Usual[repeat.Again].Std[2], Drift: 2 * repeat.Usual[repeat.Again].Std[0], Friction: repeat.Usual[repeat.Again].Std[1]}

// runsOf returns n sweeps of d in free air that differ from run to run.
func runsOf(d driver.Driver, n int, between scattered, noise float64, rng *rand.Rand) []measured.Sweep {
	var all []measured.Sweep
	for range n {
		e := d
		e.Cms *= math.Exp(between.Drift * rng.NormFloat64())
		e.Rms *= math.Exp(between.Friction * rng.NormFloat64())
		e.Re *= math.Exp(between.Heat * rng.NormFloat64())
		all = append(all, measured.Sweep{Impedance: simulated.Simulate(e, simulated.LogFreq(5, 1000, 10), 0, 0, noise, rng)})
	}
	return all
}

// The mean of a few runs that differ by more than their noise must be as
// uncertain as they differ: the 95 % interval holds the truth, also where runs
// differ three times as much as usual, or not at all.
func TestRepeatsCover(t *testing.T) {
	d := exactDriver(law.Lossy, 0)
	for _, times := range []float64{0, 3} {
		for _, n := range []int{2, 4} {
			between := scattered{Heat: times * usually.Heat, Drift: times * usually.Drift, Friction: times * usually.Friction}
			const trials = 100
			in, all := 0, 0
			for trial := range uint64(trials) {
				got, err := Fit(runsOf(d, n, between, 0.001, rand.New(rand.NewPCG(trial, uint64(n)))), measured.Conditions{})
				if err != nil {
					t.Fatal(err)
				}
				for id, want := range map[param.ID]float64{param.Re: d.Re, param.Fs: d.Fs(), param.Qms: d.Qms(), param.Qes: d.Qes()} {
					e, _ := got.Parameters.Get(id)
					all++
					if e.Low <= want && want <= e.High {
						in++
					}
					if id == param.Fs && e.Budget.Repeat < e.Budget.Noise {
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
// remains in their mean.
func TestRepeatPart(t *testing.T) {
	d := exactDriver(law.Lossy, 0)
	parts := map[param.ID][]float64{}
	for trial := range uint64(21) {
		got, err := Fit(runsOf(d, 4, usually, 0.001, rand.New(rand.NewPCG(trial, 8))), measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		for _, id := range []param.ID{param.Re, param.Fs, param.Qms, param.Qes} {
			e, _ := got.Parameters.Get(id)
			parts[id] = append(parts[id], e.Budget.Repeat/e.Value)
		}
	}
	again := repeat.Usual[repeat.Again].Std
	usual := map[param.ID]float64{param.Fs: again[0], param.Qms: again[1], param.Re: again[2], param.Qes: math.Hypot(again[0], again[2])}
	for id, all := range parts {
		slices.Sort(all)
		if r := all[len(all)/2] / (usual[id] / 2); r < 0.7 || r > 1.2 {
			t.Errorf("%v: four runs leave %.2f times what is usual", id, r)
		}
	}
}

// A single run knows nothing of repeats.
func TestSingleRunHasNoRepeatPart(t *testing.T) {
	got, err := Fit(runsOf(exactDriver(law.Lossy, 0), 1, scattered{}, 0.001, rand.New(rand.NewPCG(1, 1))), measured.Conditions{})
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
	a, b := handmade.CourseWithCoil(), handmade.CourseWithCoil()
	b.Cms *= 0.6
	rng := rand.New(rand.NewPCG(5, 5))
	codes := func(s ...measured.Sweep) map[string]bool {
		f, err := Fit(s, measured.Conditions{})
		if err != nil {
			t.Fatal(err)
		}
		has := map[string]bool{}
		for _, w := range f.Warnings {
			has[w.Code] = true
		}
		return has
	}
	sweep := func(d driver.Driver, noise float64) measured.Sweep {
		return measured.Sweep{Impedance: simulated.Simulate(d, simulated.LogFreq(4, 2000, 24), 0, 0, noise, rng)}
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
	a, b := measured.Load{Kind: measured.AddedMass, Value: 10e-3, Std: 1e-4}, measured.Load{Kind: measured.AddedMass, Value: 10.002e-3, Std: 1e-6}
	if a.Source() == b.Source() {
		t.Errorf("both are %q", a.Source())
	}
	if got := (measured.Load{Kind: measured.AddedMass, Value: 20e-3}).Source(); got != "added mass 20 g" {
		t.Errorf("%q", got)
	}
}
