package law

import (
	"math"

	"conewright/ts/driver"
	"conewright/ts/param"
)

// PlainLaw fits a [PlainCoil]; unknown: ln L.
type PlainLaw struct{}

func (PlainLaw) Name() string { return "plain" }

func (PlainLaw) Params() []param.ParamID { return []param.ParamID{param.CoilL} }

func (PlainLaw) Start(g *Axis, zl []complex128) []float64 {
	k, n := constantPhase(g, zl)
	w := g.W[len(g.W)-1]
	return []float64{math.Log(k) + (n-1)*math.Log(w)}
}

func (PlainLaw) Eval(z, grad []complex128, g *Axis, p []float64) {
	l := math.Exp(p[0])
	for i, w := range g.W {
		z[i] = complex(0, w*l)
		if grad != nil {
			grad[i] = z[i]
		}
	}
}

func (PlainLaw) Coil(p []float64) driver.Coil { return driver.PlainCoil{L: math.Exp(p[0])} }
