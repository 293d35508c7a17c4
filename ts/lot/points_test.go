package lot

import (
	"math"
	"testing"

	"conewright/ts/param"
)

// The distance of two units counts their noise, their own errors and what repeats scatter, and
// not what both share: with one quantity it is d/sqrt(u1^2 + u2^2 + (limit/2)^2).
func TestDistanceCountsOwnErrors(t *testing.T) {
	const d, u = 0.03, 0.02
	limit := math.Log(1.05)
	for _, c := range []struct {
		what  string
		of    param.Component
		count float64 // of u^2 in the variance
	}{
		{"noise only", param.Component{Source: "none", Part: param.BenchPart}, 0},
		{"shared", param.Component{Source: "resistor", Part: param.BenchPart}, 0},
		{"own", param.Component{Source: "coil", Part: param.ModelPart, Own: true}, 2},
		{"repeat", param.Component{Source: "repeats", Part: param.RepeatPart}, 2},
	} {
		units := make([]param.Parameters, 2)
		for i := range units {
			of := c.of
			of.Effect = []float64{u}
			if c.what == "noise only" {
				of.Effect = []float64{0}
			}
			units[i] = param.Parameters{IDs: []param.ID{param.Fs}, Scaled: []float64{math.Log(30) + d*float64(i)}, Origin: make([]param.Origin, 1),
				Components: []param.Component{of}, Coverage: 1.96, Temperature: 293.15}
		}
		points, err := NewPairPoints([]PairLimit{{param.Fs, 5}})
		if err != nil {
			t.Fatal(err)
		}
		for _, unit := range units {
			if err := points.Add(unit); err != nil {
				t.Fatal(err)
			}
		}
		want := d / math.Sqrt(c.count*u*u+limit*limit/4)
		if got := points.Distance(0, 1); math.Abs(got-want) > 1e-9*want {
			t.Errorf("%s: %g, want %g", c.what, got, want)
		}
	}
}
