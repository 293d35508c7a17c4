package driver

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
