package driver

import "math"

// PowerCoil has a resistance and a reactance that each follow a power of
// frequency of their own, theory (1.12):
//
//	ZL = Kr w^Xr + j Ki w^Xi
//
// It is a description, not a circuit: unless the two powers fit each other, it
// is not causal. It is kept because it follows many measured coils closely.
//
// Source: Wright, J. Audio Eng. Soc. 38(10), 1990, by way of the comparison of
// models in Leach 2002 (abstract read); symbols from memory.
type PowerCoil struct {
	Kr float64 // ohm s^Xr
	Xr float64
	Ki float64 // ohm s^Xi
	Xi float64
}

// Impedance returns ZL in ohm, w in rad/s.
func (c PowerCoil) Impedance(omega float64) complex128 {
	return complex(c.Kr*math.Pow(omega, c.Xr), c.Ki*math.Pow(omega, c.Xi))
}
