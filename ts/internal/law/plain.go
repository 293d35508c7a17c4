package law

import (
	"math"

	"conewright/ts/driver"
)

// plainLaw fits a [driver.PlainCoil]; unknown: ln L.
type plainLaw struct{}

func (plainLaw) Name() string { return "plain" }

func (plainLaw) Unknowns() []Unknown { return []Unknown{{Symbol: "L"}} }

func (plainLaw) Start(g *Axis, rough Rough) []float64 {
	k, n := rough.K, rough.N
	w := g.W[len(g.W)-1]
	return []float64{math.Log(k) + (n-1)*math.Log(w)}
}

func (plainLaw) Eval(z, grad []complex128, g *Axis, p []float64) {
	l := math.Exp(p[0])
	for i, w := range g.W {
		z[i] = complex(0, w*l)
		if grad != nil {
			grad[i] = z[i]
		}
	}
}

func (plainLaw) Coil(p []float64) driver.Coil { return driver.PlainCoil{L: math.Exp(p[0])} }
