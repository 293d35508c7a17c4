package law

import (
	"math"

	"conewright/ts/driver"
)

// semiLaw fits a [driver.SemiCoil] without its resistor; unknowns: ln Leb, ln Le, ln Ke.
type semiLaw struct{}

func (semiLaw) Name() string { return "semi-inductance" }

func (semiLaw) Unknowns() []Unknown {
	return []Unknown{{Symbol: "Leb"}, {Symbol: "Le"}, {Symbol: "Ke"}}
}

func (semiLaw) Start(g *Axis, rough Rough) []float64 {
	k, n := rough.K, rough.N
	lw0, lw1 := g.Lnw[0], g.Lnw[len(g.Lnw)-1]
	lw0 = max(lw0, lw1-math.Log(30))
	l := func(lw float64) float64 { return k * math.Exp((n-1)*lw) * math.Sin(n*math.Pi/2) }
	high := 0.6 * l(lw1)
	low := max(l(lw0)-high, 0.3*high)
	mid := math.Exp((lw0 + lw1) / 2)
	return []float64{math.Log(high), math.Log(low), math.Log(low * math.Sqrt(mid))}
}

func (semiLaw) Eval(z, grad []complex128, g *Axis, p []float64) {
	semiEval(z, grad, g, p, 0)
}

func (semiLaw) Coil(p []float64) driver.Coil {
	return driver.SemiCoil{Leb: math.Exp(p[0]), Le: math.Exp(p[1]), Ke: math.Exp(p[2]), Rss: math.Inf(1)}
}

// ladderLaw fits a whole [driver.SemiCoil]; unknowns: ln Leb, ln Le, ln Ke, ln Rss.
type ladderLaw struct{}

func (ladderLaw) Name() string { return "semi-inductance ladder" }

func (ladderLaw) Unknowns() []Unknown {
	return []Unknown{{Symbol: "Leb"}, {Symbol: "Le"}, {Symbol: "Ke"}, {Symbol: "Rss"}}
}

func (ladderLaw) Start(g *Axis, rough Rough) []float64 {
	p := semiLaw{}.Start(g, rough)
	mid := math.Exp((g.Lnw[0] + g.Lnw[len(g.Lnw)-1]) / 2)
	return append(p, p[2]+math.Log(mid)/2+math.Log(5))
}

func (ladderLaw) Eval(z, grad []complex128, g *Axis, p []float64) {
	semiEval(z, grad, g, p[:3], math.Exp(-p[3]))
}

func (ladderLaw) Coil(p []float64) driver.Coil {
	return driver.SemiCoil{Leb: math.Exp(p[0]), Le: math.Exp(p[1]), Ke: math.Exp(p[2]), Rss: math.Exp(p[3])}
}

// semiEval evaluates the semi-inductance circuit with the conductance gss
// (siemens) across its second inductor; gss = 0 has no fourth unknown.
func semiEval(z, grad []complex128, g *Axis, p []float64, gss float64) {
	leb, le, ke := math.Exp(p[0]), math.Exp(p[1]), math.Exp(p[2])
	n := 3
	if gss > 0 {
		n = 4
	}
	for i, w := range g.W {
		a := complex(0, w*leb)
		yl := complex(0, -1/(w*le))
		q := math.Sqrt(0.5/w) / ke // 1/(Ke sqrt(jw)) = q (1 - j)
		yk := complex(q, -q)
		b := inverse(yl + yk + complex(gss, 0))
		z[i] = a + b
		if grad != nil {
			b2 := b * b
			grad[n*i] = a
			grad[n*i+1] = b2 * yl
			grad[n*i+2] = b2 * yk
			if n == 4 {
				grad[n*i+3] = b2 * complex(gss, 0)
			}
		}
	}
}
