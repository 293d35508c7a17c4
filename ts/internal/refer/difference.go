package refer

import (
	"fmt"
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// Difference is what changed between two parameter sets, on the scale of
// Parameters (for most quantities: the logarithm of the ratio), with its
// covariance. Errors that both sets share have cancelled.
type Difference struct {
	IDs    []param.ID
	D      []float64
	V      *mat.SymDense
	Spread stat.Dist
}

// Subtract returns after - before for the ids, which both sets must hold:
//
//	V = Na + Nb + sum over sources s of (ea_s - eb_s)(ea_s - eb_s)'    theory (5.6)
//
// N is the covariance of the noise, e_s the effect of the source s, zero in the
// set that does not know it. A resistor that is 1 % off moves both sets equally
// and drops out; what a set marks as its own does not. The degrees of freedom are those of the poorer set, which is
// the safe bound of the formula of Welch and Satterthwaite (JCGM 100, G.4).
func Subtract(after, before param.Parameters, ids []param.ID) Difference {
	n := len(ids)
	out := Difference{IDs: ids, D: make([]float64, n), V: mat.NewSymDense(max(n, 1), nil),
		Spread: stat.Of(math.Max(after.Coverage, before.Coverage))}
	var order []string
	effects := map[string][]float64{}
	add := func(p param.Parameters, sign float64) {
		at := make([]int, n)
		for k, id := range ids {
			at[k] = p.Index(id)
			out.D[k] += sign * p.Scaled[at[k]]
		}
		if p.Noise != nil {
			for k := range ids {
				for l := k; l < n; l++ {
					out.V.SetSym(k, l, out.V.At(k, l)+p.Noise.At(at[k], at[l]))
				}
			}
		}
		for _, c := range p.Components {
			key := c.Source
			if c.Own {
				key = fmt.Sprint(c.Source, " of set ", sign)
			}
			e := effects[key]
			if e == nil {
				e = make([]float64, n)
				effects[key] = e
				order = append(order, key)
			}
			for k := range ids {
				e[k] += sign * c.Effect[at[k]]
			}
		}
	}
	if n == 0 {
		return out
	}
	add(after, 1)
	add(before, -1)
	for _, source := range order {
		out.V.SymRankOne(out.V, 1, mat.NewVecDense(n, effects[source]))
	}
	return out
}

// At returns the position of id, or -1.
func (x Difference) At(id param.ID) int {
	for i, have := range x.IDs {
		if have == id {
			return i
		}
	}
	return -1
}

// Combine returns the value and the standard uncertainty of sum w_i d_i.
func (x Difference) Combine(w map[param.ID]float64) (value, std float64) {
	n := len(x.IDs)
	c := mat.NewVecDense(n, nil)
	for i, id := range x.IDs {
		c.SetVec(i, w[id])
		value += w[id] * x.D[i]
	}
	return value, math.Sqrt(math.Max(mat.Inner(c, x.V, c), 0))
}

// Common returns those of want that both sets hold.
func Common(a, b param.Parameters, want ...param.ID) []param.ID {
	var ids []param.ID
	for _, id := range want {
		if a.Index(id) >= 0 && b.Index(id) >= 0 {
			ids = append(ids, id)
		}
	}
	return ids
}
