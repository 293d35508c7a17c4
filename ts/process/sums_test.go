package process

import (
	"math"
	"testing"
)

// TestSums: sums of groups say the same as all values do, on the published data of the capability tests.
func TestSums(t *testing.T) {
	groups := load(t, "pistonrings")
	groups = append(groups, groups[0][:3], groups[1][:1]) // unequal ones, and one without scatter
	want, err := UnitsOfGroups(groups)
	if err != nil {
		t.Fatal(err)
	}
	var sums []Sums
	for _, g := range groups {
		var s Sums
		for _, x := range g {
			s.Add(x)
		}
		sums = append(sums, s)
	}
	got, err := UnitsOfSums(append(sums, Sums{}))
	if err != nil || got.N != want.N {
		t.Fatalf("%d of %d units, %v", got.N, want.N, err)
	}
	near(t, "mean", got.Mean, want.Mean, 1e-14)
	near(t, "within", got.Within.Variance, want.Within.Variance, 1e-9)
	near(t, "dof within", got.Within.Dof, want.Within.Dof, 0)
	near(t, "overall", got.Overall.Variance, want.Overall.Variance, 1e-9)
	near(t, "dof overall", got.Overall.Dof, want.Overall.Dof, 0)

	_, err = UnitsOfSums(nil)
	refused(t, "nothing", err, "process-too-few")
	_, err = UnitsOfSums([]Sums{{N: 1, Mean: 1}, {N: 1, Mean: 2}})
	refused(t, "groups of one", err, "process-too-few")
	_, err = UnitsOfSums([]Sums{{N: 2, Mean: 1}, {N: 2, Mean: 2}})
	refused(t, "no scatter within", err, "process-no-scatter")
	_, err = UnitsOfSums([]Sums{{N: 2, Mean: math.NaN()}})
	refused(t, "not a number", err, "process-not-finite")
}
