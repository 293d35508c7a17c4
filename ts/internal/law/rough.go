package law

import "math"

// Rough is a coil of constant phase, K (jw)^N in ohm, as a first guess.
type Rough struct{ K, N float64 }

// RoughOf returns the constant-phase coil that follows a rough coil impedance zl (ohm) on g:
// the straight line of ln|ZL| over ln w. With too few usable points it returns a typical coil.
func RoughOf(g *Axis, zl []complex128) Rough {
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
		return Rough{0.02, 0.7}
	}
	d := s0*sxx - sx*sx
	n := 0.7
	if d > 1e-9*s0*s0 {
		n = min(max((s0*sxy-sx*sy)/d, 0.4), 1)
	}
	k := math.Exp((sy - n*sx) / s0)
	if math.IsNaN(k) || k <= 0 || math.IsInf(k, 0) {
		return Rough{0.02, 0.7}
	}
	return Rough{k, n}
}
