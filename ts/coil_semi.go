package ts

import (
	"math"
	"math/cmplx"
)

// SemiCoil is an inductor in series with a second one that is bridged by a
// semi-inductor Ke sqrt(s), the skin effect in the iron, and by a resistor Rss,
// theory (1.11):
//
//	ZL = s Leb + ( s Le parallel Ke sqrt(s) parallel Rss )
//
// An infinite Rss stands for no resistor.
//
// Source: the idea from Thorborg, Unruh and Struck, AES convention 122, 2007
// (abstract read); formula and symbols from memory.
type SemiCoil struct {
	Leb float64 // H
	Le  float64 // H
	Ke  float64 // ohm s^0.5
	Rss float64 // ohm; +Inf for none
}

// Impedance returns ZL in ohm, w in rad/s.
func (c SemiCoil) Impedance(omega float64) complex128 {
	s := complex(0, omega)
	y := 1/(s*complex(c.Le, 0)) + 1/(complex(c.Ke, 0)*cmplx.Sqrt(s)) + complex(1/c.Rss, 0)
	return s*complex(c.Leb, 0) + 1/y
}

// semiLaw fits a [SemiCoil] without its resistor; unknowns: ln Leb, ln Le, ln Ke.
type semiLaw struct{}

func (semiLaw) name() string      { return "semi-inductance" }
func (semiLaw) params() []ParamID { return []ParamID{CoilLeb, CoilLe, CoilKe} }

func (semiLaw) start(g *axis, zl []complex128) []float64 {
	k, n := constantPhase(g, zl)
	lw0, lw1 := g.lnw[0], g.lnw[len(g.lnw)-1]
	lw0 = max(lw0, lw1-math.Log(30))
	l := func(lw float64) float64 { return k * math.Exp((n-1)*lw) * math.Sin(n*math.Pi/2) }
	high := 0.6 * l(lw1)
	low := max(l(lw0)-high, 0.3*high)
	mid := math.Exp((lw0 + lw1) / 2)
	return []float64{math.Log(high), math.Log(low), math.Log(low * math.Sqrt(mid))}
}

func (semiLaw) eval(z, grad []complex128, g *axis, p []float64) {
	semiEval(z, grad, g, p, 0)
}

func (semiLaw) coil(p []float64) Coil {
	return SemiCoil{Leb: math.Exp(p[0]), Le: math.Exp(p[1]), Ke: math.Exp(p[2]), Rss: math.Inf(1)}
}

// ladderLaw fits a whole [SemiCoil]; unknowns: ln Leb, ln Le, ln Ke, ln Rss.
type ladderLaw struct{}

func (ladderLaw) name() string      { return "semi-inductance ladder" }
func (ladderLaw) params() []ParamID { return []ParamID{CoilLeb, CoilLe, CoilKe, CoilRss} }

func (ladderLaw) start(g *axis, zl []complex128) []float64 {
	p := semiLaw{}.start(g, zl)
	mid := math.Exp((g.lnw[0] + g.lnw[len(g.lnw)-1]) / 2)
	return append(p, p[2]+math.Log(mid)/2+math.Log(5))
}

func (ladderLaw) eval(z, grad []complex128, g *axis, p []float64) {
	semiEval(z, grad, g, p[:3], math.Exp(-p[3]))
}

func (ladderLaw) coil(p []float64) Coil {
	return SemiCoil{Leb: math.Exp(p[0]), Le: math.Exp(p[1]), Ke: math.Exp(p[2]), Rss: math.Exp(p[3])}
}

// semiEval evaluates the semi-inductance circuit with the conductance gss
// (siemens) across its second inductor; gss = 0 has no fourth unknown.
func semiEval(z, grad []complex128, g *axis, p []float64, gss float64) {
	leb, le, ke := math.Exp(p[0]), math.Exp(p[1]), math.Exp(p[2])
	n := 3
	if gss > 0 {
		n = 4
	}
	for i, w := range g.w {
		a := complex(0, w*leb)
		yl := complex(0, -1/(w*le))
		q := math.Sqrt(0.5/w) / ke // 1/(Ke sqrt(jw)) = q (1 - j)
		yk := complex(q, -q)
		b := 1 / (yl + yk + complex(gss, 0))
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
