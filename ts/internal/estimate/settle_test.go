package estimate

import (
	"errors"
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"conewright/ts/driver"
	"conewright/ts/handmade"
	"conewright/ts/internal/law"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/notice"
)

// Every fit that is reported has come to a minimum, also where the coil follows no law of
// the ladder.
func TestReportedFitsHaveSettled(t *testing.T) {
	d := handmade.CourseWithCoil()
	l := d.Re / (2 * math.Pi * 1000)
	coil := inSeries{driver.PlainCoil{L: 0.3 * l}}
	for _, corner := range []float64{80, 500, 3000} {
		coil = append(coil, driver.TwoPartCoil{L2: 0.5 * l, R2: 2 * math.Pi * corner * 0.5 * l})
	}
	d.Coil, d.Creep = coil, 0.1
	long, doubted := 0, 0
	for seed := range uint64(12) {
		z := simulated.Simulate(d, simulated.LogFreq(4, 3000, 24), 0, 0, 0.001, rand.New(rand.NewPCG(seed, 3)))
		for i, f := range z.Freq { // a second resonance
			z.Z[i] += complex(0.01*d.Re, 0) / complex(1, 5*(f/400-400/f))
		}
		in := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
		all, _ := in.weigh(in.ladder(scanTol))
		members, lost, err := in.refit(all)
		if err != nil || lost > 0 {
			t.Fatalf("seed %d: %v, lost %v", seed, err, lost)
		}
		for _, m := range members {
			if !(m.result.Offset <= settledTol) || m.result.Rank < len(m.x) {
				t.Errorf("seed %d: %v stopped at the offset %v: %v", seed, m.prob.form, m.result.Offset, m.result.Status)
			}
			if m.result.Evaluations > scanEvaluations {
				long++
			}
			if m.misfit.any() {
				doubted++
			}
		}
	}
	if long == 0 || doubted < 12 {
		t.Errorf("%d fits are in doubt, and %d took more than %d evaluations", doubted, long, scanEvaluations)
	}
}

// A form whose fit comes to no minimum is left out, and where it would have counted that
// is said. Where none is left there is no fit.
func TestUnsettledFormsAreLeftOut(t *testing.T) {
	d := handmade.CourseWithCoil()
	in := inputOf([]measured.Sweep{{Impedance: simulated.Simulate(d, simulated.LogFreq(5, 2000, 24), 0, 0, 0.002, rand.New(rand.NewPCG(1, 5)))}}, measured.Conditions{})
	found, _ := in.weigh(in.explore())
	good, bad := found[0], found[0]
	nowhere := *good.solution
	nowhere.x = slices.Repeat([]float64{math.NaN()}, len(nowhere.x))
	bad.solution = &nowhere
	for _, c := range []struct {
		weight float64
		said   bool
	}{{0.2, true}, {0.02, false}} {
		good.weight, bad.weight = 1-c.weight, c.weight
		all := []candidate{good, bad}
		members, lost, err := in.refit(all)
		if err != nil {
			t.Fatal(err)
		}
		var doubt float64
		for _, m := range members {
			doubt += m.doubt
			if m.prob.form.coil != good.prob.form.coil || math.IsNaN(m.x[0]) {
				t.Errorf("%v is a member", m.prob.form)
			}
		}
		if lost != c.weight || math.Abs(doubt-1) > 1e-12 {
			t.Errorf("lost %v of %v, the others have the doubt %v", lost, c.weight, doubt)
		}
		f, err := in.summarise(all, members, lost)
		if err != nil {
			t.Fatal(err)
		}
		if said := slices.ContainsFunc(f.Warnings, func(w notice.Notice) bool { return w.Code == "no-minimum-found" }); said != c.said {
			t.Errorf("a weight of %v is lost: said %v", c.weight, said)
		}
	}
	var refused *notice.Notice
	if _, _, err := in.refit([]candidate{bad}); !errors.As(err, &refused) || refused.Code != "not-determined" {
		t.Errorf("no form is left: %v", err)
	}
}

// A sweep that no form follows to a minimum is refused and gives no empty result.
func TestNoMinimumOfAnyForm(t *testing.T) {
	z := simulated.Simulate(exactDriver(law.Lossy, 0.1), simulated.LogFreq(5, 2000, 24), 0, 0, 0.002, rand.New(rand.NewPCG(1, 5)))
	in := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
	if _, err := in.minima(); err != nil {
		t.Errorf("a good sweep: %v", err)
	}
	z.Z[len(z.Z)/2] = complex(math.NaN(), 0) // the sum of squares of every form
	in = inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
	var refused *notice.Notice
	if _, err := in.minima(); !errors.As(err, &refused) || refused.Code != "no-fit" {
		t.Errorf("no form is left: %v", err)
	}
}

// Of two minima the lower one is taken, and one that was found before none.
func TestBetter(t *testing.T) {
	low, high := &solution{}, &solution{}
	low.result.SumSquares, high.result.SumSquares = 1, 2
	for _, c := range [][3]*solution{{low, high, low}, {high, low, low}, {nil, high, high}, {high, nil, high}, {nil, nil, nil}} {
		if got := better(c[0], c[1]); got != c[2] {
			t.Errorf("of %v and %v: %v", c[0], c[1], got)
		}
	}
}
