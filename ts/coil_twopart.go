package ts

import "math"

// TwoPartCoil is an inductor in series with a second one that is bridged by a
// resistor, theory (1.7), ZL = s L1 + (s L2 parallel R2): the losses of the iron as one
// shorted turn.
type TwoPartCoil struct {
	L1 float64 // H
	L2 float64 // H
	R2 float64 // ohm
}

// Impedance returns ZL in ohm, w in rad/s:
//
//	ZL = j w L1 + j w L2 R2 / (j w L2 + R2)
//
// Source: classical circuit theory.
func (c TwoPartCoil) Impedance(omega float64) complex128 {
	s := complex(0, omega)
	r := complex(c.R2, 0)
	l2 := s * complex(c.L2, 0)
	return s*complex(c.L1, 0) + l2*r/(l2+r)
}

// twoPartLaw fits a [TwoPartCoil]; unknowns: ln L1, ln L2, ln R2.
type twoPartLaw struct{}

func (twoPartLaw) name() string      { return "two-part" }
func (twoPartLaw) params() []ParamID { return []ParamID{CoilL1, CoilL2, CoilR2} }

func (twoPartLaw) start(g *axis, zl []complex128) []float64 {
	// The inductance of the coil falls from L1 + L2 at low to L1 at high
	// frequencies; the constant-phase coil gives both ends of the band.
	k, n := constantPhase(g, zl)
	lw0, lw1 := g.lnw[0], g.lnw[len(g.lnw)-1]
	lw0 = max(lw0, lw1-math.Log(30))
	l := func(lw float64) float64 { return k * math.Exp((n-1)*lw) * math.Sin(n*math.Pi/2) }
	high := 0.8 * l(lw1)
	low := max(l(lw0)-high, 0.3*high)
	mid := math.Exp((lw0 + lw1) / 2)
	return []float64{math.Log(high), math.Log(low), math.Log(mid * low)}
}

func (twoPartLaw) eval(z, grad []complex128, g *axis, p []float64) {
	l1, l2, r2 := math.Exp(p[0]), math.Exp(p[1]), math.Exp(p[2])
	for i, w := range g.w {
		a := complex(0, w*l1)
		q := complex(0, w*l2/r2)
		b := complex(r2, 0) * q / (1 + q)
		z[i] = a + b
		if grad != nil {
			grad[3*i] = a
			grad[3*i+1] = b / (1 + q)
			grad[3*i+2] = b * q / (1 + q)
		}
	}
}

func (twoPartLaw) coil(p []float64) Coil {
	return TwoPartCoil{L1: math.Exp(p[0]), L2: math.Exp(p[1]), R2: math.Exp(p[2])}
}
