package estimate

import (
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"conewright/ts/handmade"
	"conewright/ts/internal/simulated"
	"conewright/ts/measured"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// looks writes out all numbers of the values that steps hand on.
func looks(in input, found []*solution, all []candidate, members []member) string {
	var b strings.Builder
	fmt.Fprintln(&b, in.scale, in.trust, in.runs, in.outline, in.coil)
	for _, o := range in.obs {
		fmt.Fprintln(&b, o.z, o.weight)
	}
	one := func(s *solution) {
		fmt.Fprintln(&b, s.x, s.chi2, s.result, s.ruledOut, s.prob.lay.priors)
		for _, o := range s.prob.obs {
			fmt.Fprintln(&b, o.weight)
		}
	}
	for _, s := range found {
		one(s)
	}
	for _, c := range all {
		one(c.solution)
		fmt.Fprintln(&b, c.misfit, c.evidence, c.weight)
	}
	for _, m := range members {
		one(m.solution)
		fmt.Fprintln(&b, m.ids, m.values, m.effects, mat.Formatted(m.noise), m.misfit, m.weight, m.doubt, m.meterOff)
	}
	return b.String()
}

// No step changes what an earlier one made: the same step gives the same again, and what
// it was given looks as before.
func TestStepsChangeNothing(t *testing.T) {
	d := handmade.CourseWithCoil()
	d.Creep = 0.1
	for seed := range uint64(4) {
		z := heated(d, 2000, []float64{0.002, 0.005}[seed%2], seed)
		z.Z[90] *= 1.2 // an outlier
		again := simulated.Simulate(d, z.Freq, 0, 0, 0.002, rand.New(rand.NewPCG(seed, 78)))
		again.Sigma = nil
		in := inputOf([]measured.Sweep{{Impedance: z}, {Impedance: again}}, measured.Conditions{DCRe: param.Quantity{Value: d.Re, Std: 0.01}})

		before := looks(in, nil, nil, nil)
		found := in.explore()
		if got := looks(in, nil, nil, nil); got != before {
			t.Fatal("explore changed its input")
		}
		before = looks(in, found, nil, nil)
		sure, kept := in.distrust(found)
		if got := looks(in, found, nil, nil); got != before {
			t.Fatal("distrust changed its input")
		}
		before = looks(sure, kept, nil, nil)
		scaled, brought := sure.rescale(kept)
		if got := looks(sure, kept, nil, nil); got != before {
			t.Fatal("rescale changed its input")
		}
		before = looks(scaled, brought, nil, nil)
		all, _ := scaled.weigh(brought)
		if got := looks(scaled, brought, nil, nil); got != before {
			t.Fatal("weigh changed its input")
		}
		before = looks(scaled, brought, all, nil)
		members, _, err := scaled.refit(all)
		if err != nil {
			t.Fatal(err)
		}
		if got := looks(scaled, brought, all, nil); got != before {
			t.Fatal("refit changed its input")
		}
		if len(members) < 2 || scaled.trust[0][90] == 1 {
			t.Fatalf("seed %d: %d members, trust of the outlier %v", seed, len(members), scaled.trust[0][90])
		}
		before = looks(scaled, brought, all, members)
		first, err := scaled.summarise(all, members, 0)
		if err != nil {
			t.Fatal(err)
		}
		if got := looks(scaled, brought, all, members); got != before {
			t.Fatal("summarise changed its input")
		}
		for _, part := range []func() []member{
			func() []member { return scaled.withRival(members[0]) },
			func() []member { return scaled.suspect(members, all) },
			func() []member { return scaled.condition(members) },
		} {
			part()
			if got := looks(scaled, brought, all, members); got != before {
				t.Fatal("a part of refit changed a member")
			}
		}
		second, err := scaled.summarise(all, members, 0)
		if err != nil || fmt.Sprint(first.Parameters.All()) != fmt.Sprint(second.Parameters.All()) {
			t.Errorf("seed %d: the same members give another result (%v)", seed, err)
		}
	}
}
