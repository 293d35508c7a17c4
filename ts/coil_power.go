package ts

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

// causal reports whether the impedance of f is that of a possible circuit.
func (f form) causal() bool { return f.coil != powerLaw{} }

// powerLaw fits a [PowerCoil]; unknowns: ln Kr, ln Xr, ln Ki, ln Xi.
type powerLaw struct{}

func (powerLaw) name() string      { return "power" }
func (powerLaw) params() []ParamID { return []ParamID{CoilKr, CoilXr, CoilKi, CoilXi} }

func (powerLaw) start(g *axis, zl []complex128) []float64 {
	k, n := constantPhase(g, zl)
	n = min(n, 0.95) // a vanishing resistance has no logarithm
	s, c := math.Sincos(n * math.Pi / 2)
	return []float64{math.Log(k * c), math.Log(n), math.Log(k * s), math.Log(n)}
}

func (powerLaw) eval(z, grad []complex128, g *axis, p []float64) {
	xr, xi := math.Exp(p[1]), math.Exp(p[3])
	for i, lw := range g.lnw {
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

func (powerLaw) coil(p []float64) Coil {
	return PowerCoil{Kr: math.Exp(p[0]), Xr: math.Exp(p[1]), Ki: math.Exp(p[2]), Xi: math.Exp(p[3])}
}
