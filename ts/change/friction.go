package change

import (
	"math"

	"conewright/ts/notice"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// Friction is what the harmonics of the sweeps tell of dry friction.
type Friction struct {
	// The part of the mechanical losses at the resonance that it makes; 0: none was found, or none was looked for.
	Before, After float64
	Free          bool // there is none after that would matter
}

// mostFriction is the largest part of the losses that can be friction.
const mostFriction = 0.99

// check refuses parts that are none.
func (x Friction) check() error {
	if x.Before >= 0 && x.Before <= 1 && x.After >= 0 && x.After <= 1 {
		return nil
	}
	return notice.New("bad-friction", notice.Facts{"before": x.Before, "after": x.After})
}

// losses returns the logarithm of the ratio of all losses after to those before that friction alone makes: losses without
// friction are the part 1 - share.
func (x Friction) losses() float64 {
	return math.Log1p(-min(x.Before, mostFriction)) - math.Log1p(-min(x.After, mostFriction))
}

// What friction does beyond its losses, in parts of the logarithm of their ratio: it is not the same at all velocities,
// and a fit that takes it for the same at all finds other values beside it. Standard deviations, from simulations
// (docs/validation-friction.md).
var frictionAside = []map[param.ID]float64{
	{param.Qms: -0.3},
	{param.Fs: 0.08},
	{param.Re: 0.3, param.Qes: 0.5, param.Qms: 0.2},
	{param.Qes: 0.4},
	{param.L1k: 0.1}, {param.R1k: 0.1},
}

// withoutFriction takes out of the difference what friction makes of it: the losses, and as uncertainty what else it may do.
// Theory (9.9).
func (f frame) withoutFriction(x Friction) frame {
	size := x.losses()
	if size == 0 {
		return f
	}
	d := make([]float64, len(f.D))
	effect := f.vector(scale(lossSlope, size))
	for i, v := range f.D {
		d[i] = v - effect.AtVec(i)
	}
	v := mat.NewSymDense(len(d), nil)
	v.CopySym(f.V)
	f.D, f.V = d, v
	for _, e := range frictionAside {
		f.V.SymRankOne(f.V, 1, f.vector(scale(e, size)))
	}
	f.logDet, _ = mat.LogDet(f.V)
	return f
}

// addFriction puts friction, which the harmonics show, into every explanation.
func addFriction(found []Explanation, x Friction) []Explanation {
	size := x.losses()
	if size == 0 {
		return found
	}
	const off = 0.3 // of the size, one standard deviation
	c := Cause{ID: FrictionMore, Percent: percentOfLog(size), Low: percentOfLog(size * (1 - 1.96*off)), High: percentOfLog(size * (1 + 1.96*off)), Probability: surest}
	if size < 0 {
		c.ID = FrictionLess
		c.Low, c.High = c.High, c.Low
	}
	out := make([]Explanation, len(found))
	for i, e := range found {
		c.Explanation = i + 1
		causes := []Cause{c}
		for _, other := range e.Causes {
			if other.ID != NoChange {
				causes = append(causes, other)
			}
		}
		e.Causes = causes
		out[i] = e
	}
	return out
}
