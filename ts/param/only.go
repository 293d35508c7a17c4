package param

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Only returns the parameters that are wanted, with their joint uncertainty.
func (p Parameters) Only(wanted func(ID) bool) Parameters {
	var keep []int
	for i, id := range p.IDs {
		if wanted(id) {
			keep = append(keep, i)
		}
	}
	out := p
	out.IDs, out.Scaled, out.Origin = pick(p.IDs, keep), pick(p.Scaled, keep), pick(p.Origin, keep)
	if p.Skew != nil {
		out.Skew = pick(p.Skew, keep)
	}
	out.Noise = nil
	if p.Noise != nil && len(keep) > 0 {
		out.Noise = mat.NewSymDense(len(keep), nil)
		for a, i := range keep {
			for b := 0; b <= a; b++ {
				out.Noise.SetSym(a, b, p.Noise.At(i, keep[b]))
			}
		}
	}
	out.Components = make([]Component, len(p.Components))
	for k, c := range p.Components {
		c.Effect = pick(c.Effect, keep)
		out.Components[k] = c
	}
	return out
}

func pick[T any](from []T, keep []int) []T {
	out := make([]T, len(keep))
	for k, i := range keep {
		out[k] = from[i]
	}
	return out
}

const (
	// mostSpan is the natural logarithm of the largest ratio of the ends of an interval that
	// still says something of a quantity: 10,000, of a Q as much as of a mass. Judgement of
	// this project.
	mostSpan = 4 * math.Ln10
	// mostWidth is the same for what is no logarithm: more than any creep, or any coil's
	// resistance in ohm.
	mostWidth = 1e3
)

// Unbounded lists the quantities of which the 95 % interval says nothing.
func (p Parameters) Unbounded() []ID {
	var list []ID
	for i, id := range p.IDs {
		b := p.bars(i)
		most := mostWidth
		if id.Info().Positive {
			most = mostSpan
		}
		if width := p.coverage(i) * (b.Down + b.Up); !(width <= most) {
			list = append(list, id)
		}
	}
	return list
}
