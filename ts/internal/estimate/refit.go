package estimate

import (
	"math"

	"conewright/ts/internal/lsq"
	"conewright/ts/notice"
)

// refit fits the candidates that count once more, with the
// final weights, the misfit that their residuals show, and all errors of the
// bench. The heaviest comes first; weights and doubts add up to 1. What is lost is the
// weight of those whose fit came to no minimum.
func (in input) refit(all []candidate) (members []member, lost float64, err error) {
	in.runs = in.sizeRuns(all[0].solution)
	for _, c := range all {
		if c.weight < minWeight {
			continue
		}
		m, ok := in.member(c)
		if !ok {
			lost += c.weight
			continue
		}
		if len(members) > 0 && (m.prob.lay.coils == 0) != (members[0].prob.lay.coils == 0) {
			continue // a driver has a coil or not; the two are not averaged
		}
		if c.prob.form.creep && c.misfit.tau == (sizes{}) {
			members = append(members, in.withRival(m)...)
		} else {
			members = append(members, m)
		}
	}
	if len(members) == 0 {
		return nil, lost, notice.New("not-determined", nil)
	}
	return in.condition(in.suspect(members, all)), lost, nil
}

// member fits a candidate with everything that is in doubt; false where the data
// do not determine it.
func (in input) member(c candidate) (member, bool) {
	found := c.misfit
	final := in.fullFit(c, found)
	if final == nil {
		return member{}, false
	}
	correlated, shared := final.correlation()
	if found.tau != (sizes{}) {
		shared = max(shared, in.mostRepeats())
	}
	if wider := correlated * shared; wider > 1 {
		found.noise *= math.Sqrt(wider)
		if final = in.fullFit(c, found); final == nil {
			return member{}, false
		}
	}
	said, err := in.state(final, found.any())
	return member{solution: final, statement: said, misfit: found, correlated: correlated, shared: shared, weight: c.weight, doubt: c.weight}, err == nil && said.finite()
}

// fullFit fits a candidate with the misfit found.
func (in input) fullFit(c candidate, found misfit) *solution {
	p := in.problem(c.prob.form, true, found.noise)
	tol := finalTol
	switch {
	case found.local.any():
		w := c.prob.white
		if d := found.local; d.noise != found.noise {
			d.noise = found.noise
			w = in.whitener(d)
		}
		p.doubt(w, c.x[c.prob.lay.coil:])
		tol = localTol
	case found.any():
		p.addPieces(c.pieces, found.tau, c.x[c.prob.lay.coil:])
	}
	return settle(p, in.warmStart(p, c.solution), lsq.Settings{OffsetTol: tol, Keep: p.white != nil})
}

// correlation returns the factor by which the variance of a mean of neighbouring
// points exceeds that of independent ones, from the residuals of a solution
// that has its misfit taken out:
//
//	F = 1 + 2 (rho1 + rho2 + ...)
//
// with the correlations of neighbours one, two, ... points apart, up to the first
// that is not clearly above zero. Points of an estimator that smooths over
// frequency, and small structures that no smooth misfit follows, are not
// independent: a parameter is a mean of many of them, so the variance of all
// grows by F, theory (4.11). 1 where neighbours are independent. Beside it the factor of
// what sweeps have in common, as far as it is not in the weights already.
//
// Source: variance of a mean of a stationary series, textbook; effective sample
// size after Bayley and Hammersley, 1946 (from memory).
func (s *solution) correlation() (neighbours, sweeps float64) {
	p := s.prob
	r := p.mem.columns(p.nrows)
	p.Eval(r, nil, s.x)
	// mean product of residuals so many points apart, and the number of pairs
	product := func(lag int) (mean, pairs float64) {
		var sum float64
		for k := range p.obs {
			o := &p.obs[k]
			n := len(o.z)
			for start := o.row; start < o.row+o.rows(); start += n {
				part := r[start : start+n]
				for i := lag; i < n; i++ {
					sum += part[i] * part[i-lag]
				}
				pairs += float64(max(0, n-lag))
			}
		}
		return sum / max(pairs, 1), pairs
	}
	power, points := product(0)
	if power == 0 {
		return 1, 1
	}
	f, first := 1.0, 0.0
	clear := 3 / math.Sqrt(points)
	noise := clear / 3
	for lag := 1; lag <= correlationLags; lag++ {
		mean, pairs := product(lag)
		rho := mean / power
		if pairs == 0 || rho < clear {
			break
		}
		f += 2 * rho
		if lag == 1 {
			first = rho
		}
		clear = noise // once there is any correlation its tail counts as well
	}
	// Of few points the sum sees too little of a long tail: no less than the
	// first neighbour alone says for a correlation that dies away evenly.
	f = max(f, (1+first)/(1-min(first, 0.95)))
	// Residuals far smaller than their weights say are no reason to widen, unless that is because errors that sweeps share are
	// in the weights already.
	shared := s.shared()
	return max(1, f*min(1, 4*power*shared)), max(1, shared*min(1, power))
}
