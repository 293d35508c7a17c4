package refer

import (
	"math"
	"testing"

	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// Re is what the curves say; the rest goes along as the textbook's normal distribution says given Re (mean and covariance by
// S_22 - S_21 S_12/S_11), with the variance of Re put back; what is of the bench stays.
func TestDifferenceToldByCurves(t *testing.T) {
	ids := []param.ID{param.Re, param.Qes}
	set := func(re, qes float64, noise *mat.SymDense, c ...param.Component) param.Parameters {
		return param.Parameters{IDs: ids, Scaled: []float64{re, qes}, Origin: make([]param.Origin, 2), Noise: noise, Components: c}
	}
	noise := mat.NewSymDense(2, []float64{1e-4, 0.8e-4, 0.8e-4, 2e-4})
	model := param.Component{Source: "law", Part: param.ModelPart, Own: true, Effect: []float64{0.02, 0.03}}
	session := param.Component{Source: "session", Part: param.RepeatPart, Own: true, Effect: []float64{0.006, 0.01}}
	x := Subtract(set(0.05, 0.2, noise, model, session), set(0, 0, nil), ids)
	told := &param.Direct{Off: -0.02, Std: 0.003}
	got := x.With(told)
	v, cov, qes := 1e-4+0.02*0.02, 0.8e-4+0.02*0.03, 2e-4+0.03*0.03
	g := cov / v
	for i, want := range []float64{0.05 - 0.02, 0.2 - 0.02*g} {
		if math.Abs(got.D[i]-want) > 1e-12 {
			t.Errorf("difference of %s %.6f, want %.6f", ids[i], got.D[i], want)
		}
	}
	for _, c := range []struct {
		i, j int
		want float64
	}{
		{0, 0, 0.003*0.003 + 0.006*0.006}, {0, 1, g*0.003*0.003 + 0.006*0.01},
		{1, 1, qes - cov*cov/v + g*g*0.003*0.003 + 0.01*0.01},
	} {
		if math.Abs(got.V.At(c.i, c.j)/c.want-1) > 1e-9 {
			t.Errorf("covariance (%d, %d) %.4g, want %.4g", c.i, c.j, got.V.At(c.i, c.j), c.want)
		}
	}
	for name, told := range map[string]*param.Direct{"nothing told": nil, "told worse than by the fits": {Off: 0.1, Std: 0.05}} {
		if same := x.With(told); same.D[0] != x.D[0] || same.V.At(0, 0) != x.V.At(0, 0) {
			t.Errorf("%s: the difference is another one", name)
		}
	}
}
