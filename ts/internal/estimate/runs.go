package estimate

import (
	"conewright/ts/param"
	"conewright/ts/repeat"

	"gonum.org/v1/gonum/mat"
)

// runs are what differs from sweep to sweep of one fit: the logarithms of Re, of the stiffness and of the
// losses, as the chain of [repeat.Scatter.Chain].
type runs struct {
	std, slope [3]float64
	// magnet is the standard deviation of ln BL^2, 0 within one session.
	magnet    float64
	component param.Component // how well these sizes are known, without Source and Effect
}

// unlike are runs of which nothing else is known than that they may have different loads, and are of different
// sessions where the repeats are.
func (o *observed) unlike() runs {
	r := runs{std: [3]float64{repeat.HeatStd, repeat.DriftStd, repeat.FrictionStd}, component: param.Component{Part: param.RepeatPart, Own: true}}
	if o.repeated && o.cond.Repeats >= repeat.Session {
		r.magnet = 2 * repeat.MagnetStd
	}
	return r
}

// add adds to the layout what run k is off by; these are errors of its own: what one sweep is off by,
// the next is not.
func (r runs) add(l *layout, k int, at string) {
	if r.magnet > 0 {
		l.magnet[k] = l.addPrior(r.magnet, "temperature of the magnet"+at, param.RepeatPart, true)
	}
	own := func(i int, what string, given ...given) int {
		at := l.addPrior(r.std[i], what+at, param.RepeatPart, true)
		pr := &l.priors[len(l.priors)-1]
		source := pr.component.Source
		pr.component, pr.given = r.component, given
		pr.component.Source = source
		return at
	}
	l.heat[k] = own(0, "heating")
	if r.slope == [3]float64{} {
		l.drift[k] = own(1, "drift of the suspension")
		l.friction[k] = own(2, "drift of the losses")
		return
	}
	l.drift[k] = own(1, "drift of the suspension", given{l.heat[k], r.slope[0]})
	l.friction[k] = own(2, "drift of the losses", given{l.heat[k], r.slope[1]}, given{l.drift[k], r.slope[2]})
}

// scatter is how the bench repeats within the kind that the sweeps of one condition differ by. Where
// nothing is said of the bench it is what is usual.
func (o *observed) scatter() repeat.Scatter {
	bench := &repeat.Usual
	if o.cond.Repeatability != nil {
		bench = o.cond.Repeatability
	}
	return bench.Within(o.cond.Repeats)
}

// sizeRuns finds, from the best form, how much the runs of one condition
// differ, when there are several in free air: the random effects of theory
// (4.10). Without repeats the first sweep in free air is the condition, and
// what the others moved since is known by the wide priors alone.
func (in input) sizeRuns(best *solution) runs {
	if !in.repeated {
		return in.runs
	}
	all := in.runsOf(best)
	sample := mat.NewSymDense(3, nil)
	for _, x := range all {
		sample.SymRankOne(sample, 1/float64(len(all)-1), mat.NewVecDense(3, x[:]))
	}
	pooled := in.scatter().Pool(sample, len(all))
	r := runs{magnet: in.runs.magnet, component: param.Component{Part: param.RepeatPart, Own: true, Scatter: in.cond.Repeats.String(), Dof: pooled.Freedom(), Assumed: pooled.Assumed}}
	r.std, r.slope = pooled.Chain()
	for i := range r.std {
		r.std[i] = max(r.std[i], leastRun)
	}
	return r
}

// runsOf returns [fitted.Result.Runs] of a solution; nil for a single sweep in free air.
func (o *observed) runsOf(s *solution) [][3]float64 {
	if !o.repeated {
		return nil
	}
	l := s.prob.lay
	var all [][3]float64
	var mean [3]float64
	for k := range o.obs {
		if o.obs[k].load >= 0 {
			continue
		}
		heat, drift, friction := s.x[l.heat[k]], s.x[l.drift[k]], s.x[l.friction[k]]
		all = append(all, [3]float64{drift / 2, drift/2 - friction, heat})
	}
	for _, x := range all {
		for i := range mean {
			mean[i] += x[i] / float64(len(all))
		}
	}
	for k := range all {
		for i := range mean {
			all[k][i] -= mean[i]
		}
	}
	return all
}

// withRepeats adds to the uncertainty of p what the sweeps cannot show: the kinds of repeats that
// do not lie between them.
func (o *observed) withRepeats(p param.Parameters) param.Parameters {
	switch {
	case o.cond.Repeatability == nil:
		return p
	case o.repeated:
		return o.cond.Repeatability.Include(p, o.cond.Repeats+1)
	}
	return o.cond.Repeatability.Include(p, repeat.Again)
}
