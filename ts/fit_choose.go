package ts

import (
	"math"
	"slices"
)

// minNoise is the smallest noise that residuals can ask for, as a fraction of
// the noise assumed: below it they are rounding errors.
const minNoise = 1e-4

// rescale sets the noise of sweeps that came without one from the residuals of
// the best form, and brings the ladder up to date.
func (in *input) rescale(ladder []*solution) {
	if !slices.Contains(in.knownSigma, false) {
		return
	}
	b := best(ladder)
	p := b.prob
	r := make([]float64, p.nrows)
	p.Eval(r, nil, b.x)
	share := 1 - float64(p.lay.n-len(p.lay.priors))/float64(p.sweepRows()) // degrees of freedom a row
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
	for _, s := range ladder {
		s.prob = in.problem(s.prob.form, false, 1)
		if s.ruledOut {
			*s = *ruledOut(s.prob, s.x)
		} else {
			s.assess()
		}
	}
}

// best returns the solution that lies closest to the sweeps.
func best(ladder []*solution) *solution {
	return slices.MinFunc(ladder, func(a, b *solution) int { return cmpFloat(a.chi2, b.chi2) })
}

// known says whether every sweep came with its noise.
func (in *input) known() bool { return !slices.Contains(in.knownSigma, false) }

func cmpFloat(a, b float64) int {
	switch {
	case a < b:
		return -1
	case a > b:
		return 1
	}
	return 0
}

const (
	// minWeight is the weight below which a form is left out of the average.
	minWeight = 1e-3
	// misfitGain is the gain in log likelihood from which on a misfit is
	// believed: about one false alarm in two hundred fits. From floorGain on no
	// law is trusted below its floor.
	misfitGain = 3.5
	floorGain  = 5
)

// candidate is a form with its misfit and the logarithm of its evidence.
type candidate struct {
	*solution
	pieces   []piece
	misfit   misfit
	evidence float64
	weight   float64
}

// candidates weighs the forms of the ladder. The heaviest comes first.
func (in *input) candidates(ladder []*solution) []*candidate {
	known := in.known()
	var all []*candidate
	for _, s := range ladder {
		c := &candidate{solution: s}
		c.evidence, c.misfit.noise = s.evidence(known)
		all = append(all, c)
	}
	heaviest := func() {
		slices.SortStableFunc(all, func(a, b *candidate) int { return cmpFloat(b.evidence, a.evidence) })
	}
	heaviest()
	in.alarm = in.reduce(all[0].solution, in.pieces(all[0].solution)).alarm(known)
	if gain := in.alarm; gain > misfitGain {
		for _, c := range all {
			if c.ruledOut {
				continue
			}
			c.pieces = in.pieces(c.solution)
			c.misfit = in.reduce(c.solution, c.pieces).size(known, gain > floorGain)
			c.evidence += c.misfit.gain
		}
		heaviest()
	}
	total := 0.0
	for _, c := range all {
		c.weight = math.Exp(c.evidence - all[0].evidence)
		total += c.weight
	}
	for _, c := range all {
		c.weight /= total
	}
	return all
}

// finalists fits the forms that the data leave standing once more, with the
// final weights, the misfit that their residuals show, and all errors of the
// bench. The heaviest comes first.
func (in *input) finalists(all []*candidate) ([]*member, error) {
	in.sizeRuns(all[0].solution)
	var members []*member
	for _, c := range all {
		if c.weight < minWeight {
			continue
		}
		final := in.finish(c)
		if final == nil {
			continue
		}
		correlated := final.correlation()
		if correlated > 1 {
			c.misfit.noise *= math.Sqrt(correlated)
			if final = in.finish(c); final == nil {
				continue
			}
		}
		if len(members) > 0 && (final.prob.lay.coils == 0) != (members[0].prob.lay.coils == 0) {
			continue // a driver has a coil or not; the two are not averaged
		}
		m := &member{solution: final, weight: c.weight, misfit: c.misfit, correlated: correlated, derived: in.derive(final, in.reach())}
		if m.spread(in) != nil {
			continue
		}
		if c.prob.form.creep && !c.misfit.any() {
			in.rival(m)
		}
		if in.alarm > suspectGain && !c.misfit.any() {
			in.suspect(m, c)
		}
		members = append(members, m)
	}
	if len(members) == 0 {
		return nil, &Refusal{Code: "no-fit", Message: "the sweeps do not determine the driver",
			Advice: "measure more frequencies around the peak and below it"}
	}
	in.condition(members)
	return members, nil
}

// finish fits a candidate with everything that is in doubt.
func (in *input) finish(c *candidate) *solution {
	p := in.problem(c.prob.form, true, c.misfit.noise)
	if c.misfit.any() {
		p.addPieces(c.pieces, c.misfit.tau, c.x[c.prob.lay.coil:])
	}
	return solve(p, in.warmStart(p, c.solution), finalTol)
}

// reach returns the highest frequency in Hz of the sweeps.
func (in *input) reach() float64 {
	f := 0.0
	for _, s := range in.sweeps {
		f = max(f, s.Impedance.Freq[s.Impedance.Len()-1])
	}
	return f
}
