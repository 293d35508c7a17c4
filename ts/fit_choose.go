package ts

import (
	"math"
	"slices"
)

// rescale sets the scale of the noise of each sweep from the residuals of the
// best form. Where the noise is not known the residuals are all there is; where
// it is known it may only grow. It returns the number by which the residuals of
// the ladder, which were found with the old scale, exceed their weights.
func (in *input) rescale(ladder []*solution) float64 {
	best := slices.MinFunc(ladder, func(a, b *solution) int { return cmpFloat(a.chi2, b.chi2) })
	p := best.prob
	r := make([]float64, p.nrows)
	p.Eval(r, nil, best.x)
	total := float64(p.sweepRows())
	unknowns := float64(p.lay.n - len(p.lay.priors))
	var chi2, dof float64
	for k := range p.obs {
		o := &p.obs[k]
		rows := float64(o.rows())
		free := max(rows*(1-unknowns/total), 1)
		var sum float64
		for _, v := range r[o.row : o.row+o.rows()] {
			sum += v * v
		}
		if !in.knownSigma[k] {
			in.scale[k] *= max(math.Sqrt(sum/free), 1e-9)
		}
		chi2 += sum
		dof += free
	}
	noise := math.Sqrt(chi2 / dof)
	for k, known := range in.knownSigma {
		if known {
			in.scale[k] *= max(1, noise)
		}
	}
	if slices.Contains(in.knownSigma, false) {
		return max(noise, 1e-9)
	}
	return max(noise, 1)
}

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

// minWeight is the weight below which a form is left out of the average.
const minWeight = 1e-3

// finalists fits the forms that the data leave standing once more, with the
// final weights and all errors of the bench, and weighs them. The heaviest comes
// first; all lists every form that was tried.
func (in *input) finalists(ladder []*solution, noise float64) (members []*member, all []Alternative, err error) {
	e := make([]float64, len(ladder))
	for i, s := range ladder {
		e[i] = s.evidence(noise)
	}
	top := slices.Max(e)
	total := 0.0
	for i := range e {
		e[i] = math.Exp(e[i] - top)
		total += e[i]
	}
	kept := 0.0
	for i, s := range ladder {
		w := e[i] / total
		f := s.prob.form
		all = append(all, Alternative{Coil: f.coil.name(), Creep: f.creep, Weight: w, Chi2: s.chi2})
		if w < minWeight {
			continue
		}
		p := in.problem(f, true)
		final := solve(p, in.warmStart(p, s), finalTol)
		if final == nil {
			continue
		}
		m := &member{solution: final, weight: w}
		m.derived = in.derive(final, in.reach())
		if m.spread() != nil {
			continue
		}
		kept += w
		members = append(members, m)
	}
	if len(members) == 0 {
		return nil, nil, &Refusal{Code: "no-fit", Message: "the sweeps do not determine the driver",
			Advice: "measure more frequencies around the peak and below it"}
	}
	for _, m := range members {
		m.weight /= kept
	}
	slices.SortStableFunc(members, func(a, b *member) int { return cmpFloat(b.weight, a.weight) })
	slices.SortStableFunc(all, func(a, b Alternative) int { return cmpFloat(b.Weight, a.Weight) })
	return members, all, nil
}

// reach returns the highest frequency in Hz of the sweeps.
func (in *input) reach() float64 {
	f := 0.0
	for _, s := range in.sweeps {
		f = max(f, s.Impedance.Freq[s.Impedance.Len()-1])
	}
	return f
}
