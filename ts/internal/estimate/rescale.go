package estimate

import (
	"cmp"
	"math"
	"slices"
)

// rescale sets the noise of sweeps that came without one from the residuals of
// the best form, and brings the solutions up to date.
func (in input) rescale(found []*solution) (input, []*solution) {
	if in.known() {
		return in, found
	}
	b := best(found)
	p := b.prob
	r := make([]float64, p.nrows)
	p.Eval(r, nil, b.x)
	share := 1 - float64(p.lay.n-len(p.lay.priors))/float64(p.sweepRows()) // degrees of freedom a row
	before := in.scale
	in.scale = slices.Clone(before)
	for k := range p.obs {
		if in.knownSigma[k] {
			continue
		}
		o := &p.obs[k]
		var sum float64
		for _, v := range r[o.row : o.row+o.rows()] {
			sum += v * v
		}
		in.scale[k] *= max(math.Sqrt(sum/max(float64(o.rows())*share, 1)), minNoise)
	}
	all := make([]*solution, len(found))
	for i, s := range found {
		p := in.problem(s.prob.form, false, 1)
		if len(in.obs) == 1 && len(p.lay.priors) == 0 {
			all[i] = s.scaled(p, before[0]/in.scale[0])
		} else {
			all[i] = s.under(p)
		}
	}
	return in, all
}

// best returns the solution that lies closest to the sweeps.
func best(found []*solution) *solution {
	return slices.MinFunc(found, func(a, b *solution) int { return cmp.Compare(a.chi2, b.chi2) })
}
