package param_test

import (
	"math"
	"slices"
	"testing"

	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

func threeValues() param.Parameters {
	return param.Parameters{
		IDs: []param.ID{param.Re, param.Mms, param.Creep}, Scaled: []float64{math.Log(5.6), math.Log(0.04), 0.08},
		Origin:     []param.Origin{param.FromFit, param.Derived, param.FromFit},
		Noise:      mat.NewSymDense(3, []float64{1, 2, 3, 2, 5, 6, 3, 6, 9}),
		Components: []param.Component{{Source: "resistor", Effect: []float64{0.1, 0.2, 0.3}}},
		Skew:       [][2]float64{{1, 2}, {3, 4}, {5, 6}},
		Coverage:   2,
	}
}

func TestOnly(t *testing.T) {
	p := threeValues()
	got := p.Only(func(id param.ID) bool { return id != param.Mms })
	if !slices.Equal(got.IDs, []param.ID{param.Re, param.Creep}) || got.Scaled[1] != 0.08 || got.Origin[1] != param.FromFit ||
		got.Skew[1] != [2]float64{5, 6} || !slices.Equal(got.Components[0].Effect, []float64{0.1, 0.3}) ||
		!mat.Equal(got.Noise, mat.NewSymDense(2, []float64{1, 3, 3, 9})) {
		t.Errorf("got %+v", got)
	}
	if !slices.Equal(p.Components[0].Effect, []float64{0.1, 0.2, 0.3}) || p.Noise.At(1, 1) != 5 {
		t.Errorf("the set itself was changed: %+v", p)
	}
}

// The ends of an interval may be a factor of 10,000 apart: with a coverage of 2 that are
// 4 ln 10/4 = 2.302585 to either side.
func TestUnbounded(t *testing.T) {
	p := threeValues()
	p.Skew, p.Components = nil, nil
	for _, c := range []struct {
		re, creep float64 // standard uncertainties on the scale
		want      []param.ID
	}{
		{2.30, 200, nil},
		{2.31, 200, []param.ID{param.Re}},
		{0.1, 251, []param.ID{param.Creep}},
		{math.NaN(), 0.1, []param.ID{param.Re}},
		{math.Inf(1), math.Inf(1), []param.ID{param.Re, param.Creep}},
	} {
		p.Noise = mat.NewSymDense(3, []float64{c.re * c.re, 0, 0, 0, 1e-4, 0, 0, 0, c.creep * c.creep})
		if got := p.Unbounded(); !slices.Equal(got, c.want) {
			t.Errorf("%+v: %v", c, got)
		}
	}
	// Uneven bars count as they are.
	p.Noise = mat.NewSymDense(3, []float64{4, 0, 0, 0, 1e-4, 0, 0, 0, 1e-4})
	p.Skew = [][2]float64{{-3, 4}, {0, 0}, {0, 0}} // 1 and 2.83
	if got := p.Unbounded(); got != nil {
		t.Errorf("1 down and 2.83 up: %v", got)
	}
	p.Skew[0] = [2]float64{0, 4} // 2 and 2.83
	if got := p.Unbounded(); !slices.Equal(got, []param.ID{param.Re}) {
		t.Errorf("2 down and 2.83 up: %v", got)
	}
	// Few degrees of freedom widen the interval: t(0.975, 1) is 12.706 (textbook table), so 9.2103/2/12.706 = 0.3624.
	for _, c := range []struct {
		std  float64
		want []param.ID
	}{{0.362, nil}, {0.363, []param.ID{param.Re}}} {
		p.Noise, p.Skew = nil, nil
		p.Components = []param.Component{{Source: "session", Part: param.RepeatPart, Effect: []float64{c.std, 0, 0}, Scatter: "session", Dof: 1}}
		if got := p.Unbounded(); !slices.Equal(got, c.want) {
			t.Errorf("%v on one degree of freedom: %v", c.std, got)
		}
	}
}
