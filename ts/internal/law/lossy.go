package law

import (
	"math"

	"conewright/ts/driver"
)

// lossyLaw fits a [driver.LossyCoil]; unknowns: ln K, ln n.
type lossyLaw struct{}

func (lossyLaw) Name() string { return "lossy" }

func (lossyLaw) Unknowns() []Unknown { return []Unknown{{Symbol: "K"}, {Symbol: "n", Exponent: true}} }

func (lossyLaw) Start(g *Axis, zl []complex128) []float64 {
	k, n := constantPhase(g, zl)
	return []float64{math.Log(k), math.Log(n)}
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

// constantPhase returns K and n of the constant-phase coil that follows a
// rough coil impedance: the straight line of ln|ZL| over ln w. With too few
// usable points it returns a typical coil.
func constantPhase(g *Axis, zl []complex128) (k, n float64) {
	var s0, sx, sy, sxx, sxy float64
	for i, z := range zl {
		if imag(z) <= 0 {
			continue
		}
		m := math.Hypot(real(z), imag(z))
		x, y := g.Lnw[i], math.Log(m)
		s0 += m
		sx += m * x
		sy += m * y
		sxx += m * x * x
		sxy += m * x * y
	}
	if s0 == 0 {
		return 0.02, 0.7
	}
	d := s0*sxx - sx*sx
	n = 0.7
	if d > 1e-9*s0*s0 {
		n = min(max((s0*sxy-sx*sy)/d, 0.4), 1)
	}
	k = math.Exp((sy - n*sx) / s0)
	if math.IsNaN(k) || k <= 0 || math.IsInf(k, 0) {
		return 0.02, 0.7
	}
	return k, n
}
