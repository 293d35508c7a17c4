package refer

import (
	"slices"

	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// Clone copies what a conversion writes to.
func Clone(p param.Parameters) param.Parameters {
	p.Scaled = slices.Clone(p.Scaled)
	if p.Noise != nil {
		n := mat.NewSymDense(len(p.IDs), nil)
		n.CopySym(p.Noise)
		p.Noise = n
	}
	p.Components = slices.Clone(p.Components)
	for i := range p.Components {
		p.Components[i].Effect = slices.Clone(p.Components[i].Effect)
	}
	return p
}

// Transform carries the uncertainty of p, which must be a clone, through y' = T y.
func Transform(p *param.Parameters, t *mat.Dense) {
	n := len(p.IDs)
	if p.Noise != nil {
		var tn, v mat.Dense
		tn.Mul(t, p.Noise)
		v.Mul(&tn, t.T())
		for i := range n {
			for j := i; j < n; j++ {
				p.Noise.SetSym(i, j, v.At(i, j))
			}
		}
	}
	for i := range p.Components {
		e := mat.NewVecDense(n, nil)
		e.MulVec(t, mat.NewVecDense(n, p.Components[i].Effect))
		p.Components[i].Effect = e.RawVector().Data
	}
}
