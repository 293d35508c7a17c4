package ts

import "math"

// PlainCoil is the ideal inductor, ZL = s L, theory (1.5): right for air coils and for
// textbook examples, wrong by tens of percent for most woofers above a few
// hundred hertz.
type PlainCoil struct {
	L float64 // H
}

// Impedance returns j w L in ohm, w in rad/s. Source: classical circuit theory.
func (c PlainCoil) Impedance(omega float64) complex128 {
	return complex(0, omega*c.L)
}

// plainLaw fits a [PlainCoil]; unknown: ln L.
type plainLaw struct{}

func (plainLaw) name() string      { return "plain" }
func (plainLaw) params() []ParamID { return []ParamID{CoilL} }

func (plainLaw) start(g *axis, zl []complex128) []float64 {
	k, n := constantPhase(g, zl)
	w := g.w[len(g.w)-1]
	return []float64{math.Log(k) + (n-1)*math.Log(w)}
}

func (plainLaw) eval(z, grad []complex128, g *axis, p []float64) {
	l := math.Exp(p[0])
	for i, w := range g.w {
		z[i] = complex(0, w*l)
		if grad != nil {
			grad[i] = z[i]
		}
	}
}

func (plainLaw) coil(p []float64) Coil { return PlainCoil{L: math.Exp(p[0])} }
