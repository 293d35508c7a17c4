package law

import (
	"math"

	"conewright/ts/driver"
)

// twoPartLaw fits a [driver.TwoPartCoil]; unknowns: ln L1, ln L2, ln R2.
type twoPartLaw struct{}

func (twoPartLaw) Name() string { return "two-part" }

func (twoPartLaw) Unknowns() []Unknown {
	return []Unknown{{Symbol: "L1"}, {Symbol: "L2"}, {Symbol: "R2"}}
}

func (twoPartLaw) Start(g *Axis, rough Rough) []float64 {
	// The inductance of the coil falls from L1 + L2 at low to L1 at high
	// frequencies; the constant-phase coil gives both ends of the band.
	k, n := rough.K, rough.N
	lw0, lw1 := g.Lnw[0], g.Lnw[len(g.Lnw)-1]
	lw0 = max(lw0, lw1-math.Log(30))
	l := func(lw float64) float64 { return k * math.Exp((n-1)*lw) * math.Sin(n*math.Pi/2) }
	high := 0.8 * l(lw1)
	low := max(l(lw0)-high, 0.3*high)
	mid := math.Exp((lw0 + lw1) / 2)
	return []float64{math.Log(high), math.Log(low), math.Log(mid * low)}
}

func (twoPartLaw) Eval(z, grad []complex128, g *Axis, p []float64) {
	l1, l2, r2 := math.Exp(p[0]), math.Exp(p[1]), math.Exp(p[2])
	for i, w := range g.W {
		a := complex(0, w*l1)
		q := complex(0, w*l2/r2)
		per := inverse(1 + q)
		b := complex(r2, 0) * q * per
		z[i] = a + b
		if grad != nil {
			grad[3*i] = a
			grad[3*i+1] = b * per
			grad[3*i+2] = b * q * per
		}
	}
}

func (twoPartLaw) Coil(p []float64) driver.Coil {
	return driver.TwoPartCoil{L1: math.Exp(p[0]), L2: math.Exp(p[1]), R2: math.Exp(p[2])}
}
