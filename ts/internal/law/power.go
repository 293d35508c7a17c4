package law

import (
	"math"

	"conewright/ts/driver"
	"conewright/ts/param"
)

// PowerLaw fits a [PowerCoil]; unknowns: ln Kr, ln Xr, ln Ki, ln Xi.
type PowerLaw struct{}

func (PowerLaw) Name() string { return "power" }

func (PowerLaw) Params() []param.ParamID {
	return []param.ParamID{param.CoilKr, param.CoilXr, param.CoilKi, param.CoilXi}
}

func (PowerLaw) Start(g *Axis, zl []complex128) []float64 {
	k, n := constantPhase(g, zl)
	n = min(n, 0.95) // a vanishing resistance has no logarithm
	s, c := math.Sincos(n * math.Pi / 2)
	return []float64{math.Log(k * c), math.Log(n), math.Log(k * s), math.Log(n)}
}

func (PowerLaw) Eval(z, grad []complex128, g *Axis, p []float64) {
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

func (PowerLaw) Coil(p []float64) driver.Coil {
	return driver.PowerCoil{Kr: math.Exp(p[0]), Xr: math.Exp(p[1]), Ki: math.Exp(p[2]), Xi: math.Exp(p[3])}
}
