package param_test

import (
	"math"
	"testing"

	"conewright/ts/param"
)

// What is derived from entered values is as uncertain as differences of the formulas say.
func TestEnteredUncertainties(t *testing.T) {
	values := [4]float64{36.5, 0.0428, 5, 0.5} // Fs, Mms, Qms, Qes
	stds := [4]float64{0.3, 0.0005, 0.2, 0.01}
	of := func(v [4]float64) param.Parameters {
		q := func(i int) param.Quantity { return param.Quantity{Value: v[i], Std: stds[i]} }
		p, err := param.FromValues(q(0), q(1), q(2), q(3), param.FreeAir)
		if err != nil {
			t.Fatal(err)
		}
		return p
	}
	p := of(values)
	for _, id := range []param.ID{param.Fs, param.Qms, param.Qes, param.Qts, param.Mms, param.Cms} {
		e, ok := p.Get(id)
		if !ok {
			t.Fatalf("no %s", id)
		}
		var variance float64
		for i := range values {
			up := values
			up[i] *= 1 + 1e-5
			moved, _ := of(up).Get(id)
			slope := (moved.Value - e.Value) / (1e-5 * values[i])
			variance += slope * slope * stds[i] * stds[i]
		}
		if want := math.Sqrt(variance); math.Abs(e.Std-want) > 1e-3*want {
			t.Errorf("u(%s) is %g, want %g", id, e.Std, want)
		}
	}
	if e, _ := p.Get(param.Qts); math.Abs(e.Value-5*0.5/5.5) > 1e-12 {
		t.Errorf("Qts %g", e.Value)
	}
}
