package refer

import (
	"slices"

	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// With returns the difference once the curves themselves have told the change of Re. What the fits say of Re, with the
// variance v of their noise and models, is replaced where the curves say it more sharply; every other difference goes along as its
// covariance with Re says. With C that covariance, g = C(all, Re)/v:
//
//	d' = d + g off,   C' = (1 - g h') C (1 - g h')' + g g' std^2,   h picks Re out        theory (5.17)
//
// What the bench does to Re and how it repeats stays. nil: nothing is told.
func (x Difference) With(told *param.Direct) Difference {
	at := x.At(param.Re)
	if told == nil || at < 0 {
		return x
	}
	n := len(x.IDs)
	curves, others := x.set, []param.Component(nil)
	curves.Components = nil
	for _, c := range x.set.Components {
		if c.Part == param.ModelPart {
			curves.Components = append(curves.Components, c)
		} else {
			others = append(others, c)
		}
	}
	c := curves.Covariance()
	v := c.At(at, at)
	if param.Sq(told.Std) >= v {
		return x
	}
	curves = Clone(curves)
	t, effect := mat.NewDense(n, n, nil), make([]float64, n)
	for i := range n {
		g := c.At(i, at) / v
		t.Set(i, i, 1)
		t.Set(i, at, t.At(i, at)-g)
		curves.Scaled[i] += g * told.Off
		effect[i] = g * told.Std
	}
	Transform(&curves, t)
	direct := param.Component{Source: "Re of two curves compared", Part: param.ModelPart, Effect: effect}
	curves.Components = slices.Concat(curves.Components, others, []param.Component{direct})
	return Difference{IDs: x.IDs, D: curves.Scaled, V: curves.Covariance(), set: curves}
}
