package estimate

import (
	"math"
	"slices"

	"conewright/ts/param"
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
	return slices.MinFunc(ladder, func(a, b *solution) int { return CmpFloat(a.chi2, b.chi2) })
}

// known says whether every sweep came with its noise.
func (in *input) known() bool { return !slices.Contains(in.knownSigma, false) }

func CmpFloat(a, b float64) int {
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
	// suspectGain is the gain in log likelihood that a misfit has to bring before
	// it is looked at. From floorGain on no law is trusted below its floor.
	suspectGain = 1
	floorGain   = 5
	// beliefCost is the logarithm of the odds against a misfit, in what is
	// reported, including what the search for its sizes gains by chance. doubtCost
	// is the same in the uncertainty.
	beliefCost = 8
	doubtCost  = 4
)

// candidate is a form, trusted or with free pieces of its laws, and the logarithm
// of its evidence.
type candidate struct {
	*solution
	pieces   []piece
	misfit   misfit
	evidence float64
	weight   float64
}

// candidates weighs the forms of the ladder, each trusted and, where the
// residuals hint at a misfit, doubted. The heaviest comes first.
func (in *input) candidates(ladder []*solution) []*candidate {
	known := in.known()
	var all []*candidate
	for _, s := range ladder {
		c := &candidate{solution: s}
		c.evidence, c.misfit.noise = in.evidence(s)
		all = append(all, c)
	}
	weigh(all)
	in.alarm = in.reduce(all[0].solution, in.pieces(all[0].solution, false)).alarm(known)
	if in.alarm > suspectGain || !all[0].prob.form.causal() {
		all = append(all, in.doubted(all)...)
		weigh(all)
	}
	return all
}

// weigh turns evidence into weights, and puts the heaviest first.
func weigh(all []*candidate) {
	slices.SortStableFunc(all, func(a, b *candidate) int { return CmpFloat(b.evidence, a.evidence) })
	total := 0.0
	for _, c := range all {
		c.weight = math.Exp(c.evidence - all[0].evidence)
		total += c.weight
	}
	for _, c := range all {
		c.weight /= total
	}
}

// doubted returns the forms with the sizes of the misfit that their residuals
// show. While the misfit is a suspicion only the forms that count are doubted,
// and where the heaviest is a law that no circuit obeys, all others: what such a
// law follows so well may be a possible coil and an error of the bench. Once the
// misfit is beyond doubt every form is, but for those that leave a law no room:
// the law that no circuit obeys, to which causal pieces cannot be added, and a
// suspension without creep beside the same with it.
func (in *input) doubted(trusted []*candidate) []*candidate {
	firm := in.alarm > floorGain
	rivals := func(test func(f form) bool) bool {
		return slices.ContainsFunc(trusted, func(c *candidate) bool { return !c.ruledOut && test(c.prob.form) })
	}
	top := math.Inf(-1)
	var all []*candidate
	for _, c := range trusted {
		f := c.prob.form
		counts := c.weight >= minWeight || firm || f.causal() && !trusted[0].prob.form.causal()
		withCreep := func(g form) bool { return g.creep && g.coil == f.coil }
		if c.ruledOut || !counts || firm && (!f.causal() && rivals(form.causal) || !f.creep && rivals(withCreep)) {
			continue
		}
		d := &candidate{solution: c.solution, pieces: in.pieces(c.solution, true)}
		d.misfit = in.reduce(c.solution, d.pieces).size(in.known(), firm)
		if !d.misfit.any() {
			continue
		}
		d.evidence = c.evidence + d.misfit.gain - beliefCost
		top = max(top, d.evidence)
		all = append(all, d)
	}
	if firm { // floors cost likelihood: they say how to doubt, not whether
		for _, d := range all {
			d.evidence += max(0, trusted[0].evidence+in.alarm-beliefCost-top)
		}
	}
	return all
}

// finalists fits the candidates that the data leave standing once more, with the
// final weights, the misfit that their residuals show, and all errors of the
// bench. The heaviest comes first.
func (in *input) finalists(all []*candidate) ([]*member, error) {
	in.sizeRuns(all[0].solution)
	var members []*member
	for _, c := range all {
		if c.weight < minWeight {
			continue
		}
		m := in.finalist(c)
		if m == nil || len(members) > 0 && (m.prob.lay.coils == 0) != (members[0].prob.lay.coils == 0) {
			continue // a driver has a coil or not; the two are not averaged
		}
		members = append(members, m)
		if c.prob.form.creep && !c.misfit.any() {
			if r := in.rival(m); r != nil {
				members = append(members, r)
			}
		}
	}
	if len(members) == 0 {
		return nil, &param.Refusal{Code: "no-fit", Message: "the sweeps do not determine the driver",
			Advice: "measure more frequencies around the peak and below it"}
	}
	members = in.suspect(members, all)
	in.condition(members)
	return members, nil
}

// finalist fits a candidate with everything that is in doubt; nil where the data
// do not determine it.
func (in *input) finalist(c *candidate) *member {
	found := c.misfit
	final := in.finish(c, found)
	if final == nil {
		return nil
	}
	correlated := final.correlation()
	if correlated > 1 {
		found.noise *= math.Sqrt(correlated)
		if final = in.finish(c, found); final == nil {
			return nil
		}
	}
	m := &member{solution: final, weight: c.weight, doubt: c.weight, misfit: found, correlated: correlated, derived: in.derive(final, in.reach())}
	if m.spread(in) != nil {
		return nil
	}
	return m
}

// finish fits a candidate with the misfit found.
func (in *input) finish(c *candidate, found misfit) *solution {
	p := in.problem(c.prob.form, true, found.noise)
	if found.any() {
		p.addPieces(c.pieces, found.tau, c.x[c.prob.lay.coil:])
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
