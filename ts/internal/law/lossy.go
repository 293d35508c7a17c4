package law

import (
	"math"

	"conewright/ts/driver"
)

// lossyLaw fits a [driver.LossyCoil]; unknowns: ln K, ln n.
type lossyLaw struct{}

func (lossyLaw) Name() string { return "lossy" }

func (lossyLaw) Unknowns() []Unknown { return []Unknown{{Symbol: "K"}, {Symbol: "n", Exponent: true}} }

func (lossyLaw) Start(_ *Axis, rough Rough) []float64 {
	return []float64{math.Log(rough.K), math.Log(rough.N)}
}

func (lossyLaw) Eval(z, grad []complex128, g *Axis, p []float64) {
	n := math.Exp(p[1])
	s, c := math.Sincos(n * math.Pi / 2)
	for i, lw := range g.Lnw {
		m := math.Exp(p[0] + n*lw)
		z[i] = complex(m*c, m*s)
		if grad != nil {
			grad[2*i] = z[i]
			// d/dn (jw)^n = (jw)^n ln(jw), and d n/d ln n = n.
			grad[2*i+1] = z[i] * complex(n*lw, n*math.Pi/2)
		}
	}
}

func (lossyLaw) Coil(p []float64) driver.Coil {
	return driver.LossyCoil{K: math.Exp(p[0]), N: math.Exp(p[1])}
}
