package ts

import "math"

// LossyCoil has a constant phase, theory (1.6), ZL = K s^n with 0 < n < 1: n = 1 is an ideal
// inductor of K henry, n = 1/2 pure eddy-current loss. Typical n are 0.6 to 0.8.
//
// Source: Leach, "Loudspeaker voice-coil inductance losses", J. Audio Eng. Soc.
// 50(6), 2002 (abstract read), and university course notes.
type LossyCoil struct {
	K float64 // ohm s^n
	N float64 // exponent
}

// Impedance returns K (jw)^n = K w^n (cos(n pi/2) + j sin(n pi/2)) in ohm,
// w in rad/s.
func (c LossyCoil) Impedance(omega float64) complex128 {
	s, co := math.Sincos(c.N * math.Pi / 2)
	m := c.K * math.Pow(omega, c.N)
	return complex(m*co, m*s)
}

// lossyLaw fits a [LossyCoil]; unknowns: ln K, ln n.
type lossyLaw struct{}

func (lossyLaw) name() string      { return "lossy" }
func (lossyLaw) params() []ParamID { return []ParamID{CoilK, CoilN} }

func (lossyLaw) start(g *axis, zl []complex128) []float64 {
	k, n := constantPhase(g, zl)
	return []float64{math.Log(k), math.Log(n)}
}

func (lossyLaw) eval(z, grad []complex128, g *axis, p []float64) {
	n := math.Exp(p[1])
	s, c := math.Sincos(n * math.Pi / 2)
	for i, lw := range g.lnw {
		m := math.Exp(p[0] + n*lw)
		z[i] = complex(m*c, m*s)
		if grad != nil {
			grad[2*i] = z[i]
			// d/dn (jw)^n = (jw)^n ln(jw), and d n/d ln n = n.
			grad[2*i+1] = z[i] * complex(n*lw, n*math.Pi/2)
		}
	}
}

func (lossyLaw) coil(p []float64) Coil { return LossyCoil{K: math.Exp(p[0]), N: math.Exp(p[1])} }

// constantPhase returns K and n of the constant-phase coil that follows a
// rough coil impedance: the straight line of ln|ZL| over ln w. With too few
// usable points it returns a typical coil.
func constantPhase(g *axis, zl []complex128) (k, n float64) {
	var s0, sx, sy, sxx, sxy float64
	for i, z := range zl {
		if imag(z) <= 0 {
			continue
		}
		m := math.Hypot(real(z), imag(z))
		x, y := g.lnw[i], math.Log(m)
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
