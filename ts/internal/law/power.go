package law

import (
	"math"

	"conewright/ts/driver"
)

// powerLaw fits a [driver.PowerCoil]; unknowns: ln Kr, ln Xr, ln Ki, ln Xi.
type powerLaw struct{}

func (powerLaw) Name() string { return "power" }

func (powerLaw) Unknowns() []Unknown {
	return []Unknown{{Symbol: "Kr"}, {Symbol: "Xr", Exponent: true}, {Symbol: "Ki"}, {Symbol: "Xi", Exponent: true}}
}

func (powerLaw) Start(g *Axis, rough Rough) []float64 {
	k, n := rough.K, rough.N
	n = min(n, 0.95) // a vanishing resistance has no logarithm
	s, c := math.Sincos(n * math.Pi / 2)
	return []float64{math.Log(k * c), math.Log(n), math.Log(k * s), math.Log(n)}
}

func (powerLaw) Eval(z, grad []complex128, g *Axis, p []float64) {
	xr, xi := math.Exp(p[1]), math.Exp(p[3])
	for i, lw := range g.Lnw {
		r, x := math.Exp(p[0]+xr*lw), math.Exp(p[2]+xi*lw)
		z[i] = complex(r, x)
		if grad != nil {
			grad[4*i] = complex(r, 0)
			grad[4*i+1] = complex(r*xr*lw, 0)
			grad[4*i+2] = complex(0, x)
			grad[4*i+3] = complex(0, x*xi*lw)
		}
	}
}

func (powerLaw) Coil(p []float64) driver.Coil {
	return driver.PowerCoil{Kr: math.Exp(p[0]), Xr: math.Exp(p[1]), Ki: math.Exp(p[2]), Xi: math.Exp(p[3])}
}
