package estimate

import (
	"math"
	"slices"

	"conewright/ts/internal/law"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// explore finds the minimum of every form: of all forms on the thinned input,
// then on all points for those that stand a chance. The others are ruled out.
func (in input) explore() []*solution {
	thin, fewer := in.thinned()
	if !fewer {
		return in.ladder(scanTol)
	}
	found := thin.ladder(thinTol)
	if len(found) == 0 {
		return nil
	}
	thin, found = thin.rescale(found)
	evidence := make([]float64, len(found))
	for i, s := range found {
		evidence[i], _ = thin.evidence(s)
	}
	top := slices.Max(evidence)
	causal := math.Inf(-1) // the same among the forms that may be doubted
	for i, s := range found {
		if s.prob.form.causal() {
			causal = max(causal, evidence[i])
		}
	}
	var all []*solution
	minimum := false
	for i, s := range found {
		p := in.problem(s.prob.form, false, 1)
		if evidence[i] < top-thinDoubt && (evidence[i] < causal-thinDoubt || !s.prob.form.causal()) {
			all = append(all, ruledOut(p, s.x))
		} else if full := solve(p, s.x, scanTol); full.determined() {
			all = append(all, full)
			minimum = true
		}
	}
	if !minimum {
		return in.ladder(scanTol)
	}
	return all
}

// ladder fits every form and returns those that came to a minimum in which every unknown
// is determined, the simple ones first.
func (in input) ladder(tol float64) []*solution {
	first := form{coil: law.Lossy}
	p := in.problem(first, false, 1)
	var best *solution
	for _, q := range []float64{1, 0.6, 1.7} {
		o := in.outline
		o.Qms *= q
		if best = better(best, solve(p, in.start(p, o), tol)); best.determined() {
			break
		}
	}
	if best == nil {
		q := in.problem(form{coil: law.None}, false, 1)
		if best = solve(q, in.start(q, in.outline), tol); best == nil {
			return nil
		}
	}
	var all []*solution
	keep := func(s *solution) {
		if s == nil {
			return
		}
		all = append(all, s)
		if s.chi2 < best.chi2 {
			best = s
		}
	}
	plainToo := func(creep *solution) bool {
		if in.boxed() { // something is known of the creep of every driver in a box, and none at all is against it
			return !creep.determined()
		}
		return creep == nil || !creep.inferior(best) && !creep.needsCreep() && !creep.redundant(all)
	}
	for _, law := range law.Ladder {
		creep := in.fitForm(tol, form{coil: law, creep: true}, best, all)
		if plainToo(creep) {
			keep(in.fitForm(tol, form{coil: law}, best, all, creep))
		}
		keep(creep)
	}
	if all = minimaOf(all); len(all) > 0 {
		return all
	}
	// The first form led the others astray: a resonance that is bent, far beyond the linear range. Each by itself then.
	for _, law := range law.Ladder {
		for _, creep := range []bool{true, false} {
			p := in.problem(form{coil: law, creep: creep}, false, 1)
			all = append(all, solve(p, in.start(p, in.outline), tol))
		}
	}
	return minimaOf(all)
}

// minimaOf returns those that came to a minimum in which every unknown is determined.
func minimaOf(all []*solution) []*solution {
	return slices.DeleteFunc(all, func(s *solution) bool { return !s.determined() })
}

// inferior reports whether s is so much worse than best that a special case of
// it need not be looked at.
func (s *solution) inferior(best *solution) bool {
	noise := max(1, best.chi2/float64(max(best.prob.sweepRows()-len(best.x), 1)))
	return s.result.Converged() && s.chi2 > best.chi2+2*thinDoubt*noise
}

// needsCreep reports whether the creep of s is beyond doubt. The standard error
// counts the misfit of the form as noise.
func (s *solution) needsCreep() bool {
	n, k := len(s.x), s.prob.lay.creep
	c, err := s.result.CovarianceTo(nil)
	if err != nil || !s.determined() {
		return false
	}
	noise := max(1, s.chi2/float64(max(s.prob.sweepRows()-n, 1)))
	return param.Sq(s.x[k]) > plainCreep*plainCreep*noise*c[k*n+k]
}

// redundant reports whether s has unknowns in its coil that the sweeps do not
// determine: it fits no better than a form that it holds.
func (s *solution) redundant(all []*solution) bool {
	return !s.determined() && slices.ContainsFunc(all, func(t *solution) bool {
		return s.prob.form.holds(t.prob.form) && alike*s.result.SumSquares > t.result.SumSquares
	})
}

// fitForm fits one form from the best fit so far, from the outline, and from the
// fits given as near. It takes the lowest minimum.
func (in input) fitForm(tol float64, f form, best *solution, all []*solution, near ...*solution) *solution {
	p := in.problem(f, false, 1)
	s := solve(p, in.warmStart(p, best), tol)
	for _, n := range near {
		if n != nil {
			s = better(s, solve(p, in.warmStart(p, n), tol))
		}
	}
	// A form that holds a simpler one inside cannot be worse than that one: if
	// it is, it sits in a local minimum, and the simpler fit is a better start.
	for _, simple := range all {
		if f.holds(simple.prob.form) && (s == nil || s.result.SumSquares > alike*simple.result.SumSquares) {
			s = better(s, solve(p, in.warmStart(p, simple), tol))
			s = better(s, solve(p, in.start(p, in.outline), tol))
		}
	}
	return s
}

// thinned returns the same input with fewer points; false when there are few already.
func (in input) thinned() (input, bool) {
	sweeps := make([]measured.Sweep, len(in.sweeps))
	before, after := 0, 0
	var trust [][]float64
	for k, s := range in.sweeps {
		z := &s.Impedance
		low, high := in.outline.Fs, in.outline.Fs
		switch {
		case in.port != nil:
			low = in.port.Lower.Freq
		case k != in.ref:
			low = measured.OutlineOf(*z).Fs
			high = low
		}
		keep := thinPoints(z.Freq, low, high)
		if in.trust != nil {
			trust = append(trust, pick(in.trust[k], keep))
		}
		before += z.Len()
		after += len(keep)
		thin := measured.Impedance{MagnitudeOnly: z.MagnitudeOnly, Freq: pick(z.Freq, keep), Z: pick(z.Z, keep)}
		if z.Sigma != nil {
			thin.Sigma = pick(z.Sigma, keep)
		}
		for _, e := range z.Systematic {
			if e.Fitted {
				e.Effect = pick(e.Effect, keep)
				if e.Bend != nil {
					e.Bend = pick(e.Bend, keep)
				}
				thin.Systematic = append(thin.Systematic, e)
			}
		}
		sweeps[k] = measured.Sweep{Impedance: thin, Load: s.Load}
	}
	if float64(before) < thinGain*float64(after) {
		return in, false
	}
	thin := observe(sweeps, in.cond, &in.outline, in.cabinet).unweighted(in.mem)
	thin.trust = trust
	return thin, true
}

// thinPoints returns the indices of the points to keep, first and last among
// them, of a sweep with its peaks from low to high (Hz).
func thinPoints(freq []float64, low, high float64) []int {
	// A sweep with just these spacings keeps all its points.
	const slack = 1 - 1e-6
	near, elsewhere := slack*math.Exp2(thinNear), slack*math.Exp2(thinElsewhere)
	keep := make([]int, 0, len(freq))
	next := 0.0
	for i, f := range freq {
		if f < next && i < len(freq)-1 {
			continue
		}
		keep = append(keep, i)
		if f > low/thinReach && f < high*thinReach {
			next = f * near
		} else {
			next = f * elsewhere
		}
	}
	return keep
}

func pick[T any](v []T, indices []int) []T {
	out := make([]T, len(indices))
	for k, i := range indices {
		out[k] = v[i]
	}
	return out
}
