package estimate

import (
	"math"
	"testing"

	"conewright/ts/measured"
)

// A single sweep that is rescaled is the same fit with all residuals in proportion: what an evaluation with the new weights says.
func TestRescaledSweep(t *testing.T) {
	z := readBenchmarkSweep(t)
	z.Sigma = nil
	in := inputOf([]measured.Sweep{{Impedance: z}}, measured.Conditions{})
	found := in.explore()
	after, all := in.rescale(found)
	if len(all) < 3 || after.scale[0] > in.scale[0]/2 {
		t.Fatalf("%d forms, noise from %v to %v", len(all), in.scale, after.scale)
	}
	for i, s := range all {
		want := found[i].under(s.prob)
		if relative(s.chi2, want.chi2) > 1e-12 || s.ruledOut != want.ruledOut {
			t.Errorf("%v: sum of squares %v, evaluated %v", s.prob.form, s.chi2, want.chi2)
		}
		if s.ruledOut {
			continue
		}
		if relative(s.result.SumSquares, want.result.SumSquares) > 1e-12 || relative(s.result.Condition, want.result.Condition) > 1e-6 {
			t.Errorf("%v: %v with condition %v, evaluated %v with %v", s.prob.form, s.result.SumSquares, s.result.Condition, want.result.SumSquares, want.result.Condition)
		}
		got, err := s.result.CovarianceTo(nil)
		if err != nil {
			t.Fatal(err)
		}
		cov, err := want.result.CovarianceTo(nil)
		if err != nil {
			t.Fatal(err)
		}
		n := len(s.x)
		for j := range n {
			if math.Abs(got[j*n+j]/cov[j*n+j]-1) > 1e-6 {
				t.Errorf("%v: variance of unknown %d is %v, evaluated %v", s.prob.form, j, got[j*n+j], cov[j*n+j])
			}
		}
	}
}
