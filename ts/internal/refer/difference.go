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
	IDs []param.ID
	D   []float64
	V   *mat.SymDense

	set param.Parameters // the difference with its sources, in the order of IDs
}

// Subtract returns after - before for the ids, which both sets must hold:
//
//	V = Na + Nb + sum over sources s of (ea_s - eb_s)(ea_s - eb_s)'    theory (5.6)
//
// N is the covariance of the noise, e_s the effect of the source s, zero in the
// set that does not know it. A resistor that is 1 % off moves both sets equally
// and drops out; what a set marks as its own does not. The degrees of freedom of the noise are those of the poorer
// set, which is the safe bound of the formula of Welch and Satterthwaite (JCGM 100, G.4).
func Subtract(after, before param.Parameters, ids []param.ID) Difference {
	n := len(ids)
	out := Difference{IDs: ids, D: make([]float64, n), V: mat.NewSymDense(max(n, 1), nil)}
	noise := mat.NewSymDense(max(n, 1), nil)
	var all []param.Component
	place := map[string]int{}
	add := func(p param.Parameters, sign float64) {
		at := make([]int, n)
		for k, id := range ids {
			at[k] = p.Index(id)
			out.D[k] += sign * p.Scaled[at[k]]
		}
		if p.Noise != nil {
			for k := range ids {
				for l := k; l < n; l++ {
					noise.SetSym(k, l, noise.At(k, l)+p.Noise.At(at[k], at[l]))
				}
			}
		}
		for _, c := range p.Components {
			key := c.Source
			if c.Own {
				key = fmt.Sprint(c.Source, " of set ", sign)
			}
			i, ok := place[key]
			if !ok {
				i = len(all)
				place[key] = i
				effect := c.Effect
				c.Effect = make([]float64, n)
				all = append(all, c)
				c.Effect = effect
			}
			for k := range ids {
				all[i].Effect[k] += sign * c.Effect[at[k]]
			}
		}
	}
	if n == 0 {
		return out
	}
	add(after, 1)
	add(before, -1)
	out.set = param.Parameters{IDs: ids, Scaled: out.D, Noise: noise, Components: all, Coverage: math.Max(after.Coverage, before.Coverage)}
	out.V = out.set.Covariance()
	return out
}

// Dist returns the distribution of the difference i over its standard uncertainty.
func (x Difference) Dist(i int) stat.Dist { return x.set.Dist(i) }

// Scatters returns the fewest degrees of freedom that a difference has, and how many of the differences have
// no more than twice as many: those whose uncertainty rests on how the bench repeats. Infinite and 0 where
// all is known well.
func (x Difference) Scatters() (dof float64, quantities int) {
	all := make([]float64, len(x.IDs))
	dof = math.Inf(1)
	for i := range all {
		all[i] = x.Dist(i).Dof
		dof = math.Min(dof, all[i])
	}
	for _, d := range all {
		if d <= 2*dof && !math.IsInf(dof, 1) {
			quantities++
		}
	}
	return dof, quantities
}

// Scatter returns the part of V that rests on few degrees of freedom.
func (x Difference) Scatter() *mat.SymDense {
	n := len(x.IDs)
	v := mat.NewSymDense(n, nil)
	for _, c := range x.set.Components {
		if c.Dof > 0 {
			v.SymRankOne(v, 1, mat.NewVecDense(n, c.Effect))
		}
	}
	return v
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

// Combine returns the value of sum w_i d_i, its standard uncertainty and the distribution over that.
func (x Difference) Combine(w map[param.ID]float64) (value, std float64, d stat.Dist) {
	n := len(x.IDs)
	c := mat.NewVecDense(n, nil)
	for i, id := range x.IDs {
		c.SetVec(i, w[id])
		value += w[id] * x.D[i]
	}
	return value, math.Sqrt(math.Max(mat.Inner(c, x.V, c), 0)), x.set.DistAlong(c.RawVector().Data)
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
