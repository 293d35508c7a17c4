package lot

import (
	"errors"
	"math"
	"testing"

	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// capacitor is a capacitor of so many farad with an error of its own and one that all parts of a session share, both relative.
func capacitor(c, own, shared float64) param.Parameters {
	return param.Parameters{IDs: []param.ID{param.C, param.ESR}, Scaled: []float64{math.Log(c), 0.1}, Origin: make([]param.Origin, 2), Coverage: 1.96,
		Components: []param.Component{{Source: "load resistor", Part: param.BenchPart, Effect: []float64{shared, 0}}, {Source: "contacts", Part: param.BenchPart, Own: true, Effect: []float64{own, 4e-3}}}}
}

// What two parts share cancels; their own errors add up.
func TestPairParts(t *testing.T) {
	limit := PairLimit{ID: param.C, Percent: 2}
	for _, c := range []struct {
		ratio, own, shared float64
		want               verdict.Verdict
	}{{1.01, 1e-3, 0.05, verdict.InSpec}, {1.03, 1e-3, 0.05, verdict.OutOfSpec}, {1.01, 1e-2, 0, verdict.Undecided}} {
		p, err := PairParts(capacitor(8e-6, c.own, c.shared), capacitor(8e-6*c.ratio, c.own, c.shared), limit)
		if err != nil {
			t.Fatal(err)
		}
		if p.Verdict != c.want || math.Abs(p.Deciding().Percent-100*(c.ratio-1)) > 1e-9 {
			t.Errorf("%+v: %v with %+v", c, p.Verdict, p.Deciding())
		}
		// 1.96 root 2 times what is its own, on the scale of the logarithm
		if half := math.Log(1+p.Deciding().High/100) - math.Log(c.ratio); math.Abs(half/(1.96*math.Sqrt2*c.own)-1) > 1e-3 {
			t.Errorf("half-width %v", half)
		}
		if len(p.Changes) != 1 || p.Changes[0].ID != param.C || math.Abs(p.Changes[0].Ratio-c.ratio) > 1e-12 {
			t.Errorf("changes %+v", p.Changes)
		}
		// the tail of a normal distribution, from any table: 1.96 leaves 5 %
		if z := math.Log(c.ratio) / (math.Sqrt2 * c.own); math.Abs(p.P-math.Erfc(z/math.Sqrt2)) > 1e-9 {
			t.Errorf("probability %v of %v standard deviations", p.P, z)
		}
	}
	if p, err := PairParts(capacitor(8e-6, 1e-3, 0), capacitor(8e-6, 1e-3, 0), PairLimit{ID: param.L, Percent: 2}); err != nil || p.Verdict != verdict.Undecided || p.Deciding().Known {
		t.Errorf("what is not known is not decided: %+v, %v", p, err)
	}
	var n *notice.Notice
	if _, err := PairParts(capacitor(8e-6, 1e-3, 0), capacitor(8e-6, 1e-3, 0), PairLimit{ID: param.ESR, Percent: 2}); !errors.As(err, &n) || n.Code != "bad-pair-limit" {
		t.Errorf("a pair held to a resistance that may be none: %v", err)
	}
}
