package estimate

import (
	"math"
	"slices"

	"conewright/ts/internal/law"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

const (
	scanTol  = 1e-4 // relative offset: enough to choose a form
	finalTol = 1e-6 // a millionth of a standard error
	// maxCondition drops a form whose unknowns the data cannot tell apart; a
	// simpler form then says the same.
	maxCondition = 1e9
)

// ladder fits every form and returns those that came to a minimum that stands
// alone, the simple ones first.
func (in *input) ladder() []*solution {
	first := form{coil: law.LossyLaw{}}
	p := in.problem(first, false, 1)
	var best *solution
	for _, q := range []float64{1, 0.6, 1.7} {
		o := in.outline
		o.Qms *= q
		if best = better(best, solve(p, in.start(p, o), in.tol)); best.standsAlone() {
			break
		}
	}
	if best == nil {
		q := in.problem(form{coil: law.NoneLaw{}}, false, 1)
		if best = solve(q, in.start(q, in.outline), in.tol); best == nil {
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
	for _, law := range law.Ladder {
		creep := in.fitForm(form{coil: law, creep: true}, best, all)
		if creep == nil || !creep.hopeless(best) && !creep.needsCreep() && !creep.idle(all) {
			keep(in.fitForm(form{coil: law}, best, all, creep))
		}
		keep(creep)
	}
	all = slices.DeleteFunc(all, func(s *solution) bool { return !s.standsAlone() })
	if rising := in.risingLoss(all); rising.standsAlone() {
		all = append(all, rising)
	}
	return all
}

// risingLoss fits the likeliest of the forms with creep once more, with a part of
// the loss that rises in proportion to frequency. Counting the unknowns is enough
// to find that form.
func (in *input) risingLoss(all []*solution) *solution {
	var likeliest *solution
	top := math.Inf(-1)
	for _, s := range all {
		like, _ := s.likelihood(in.known())
		if like -= float64(s.prob.lay.n); s.prob.form.creep && like > top {
			likeliest, top = s, like
		}
	}
	if likeliest == nil {
		return nil
	}
	f := likeliest.prob.form
	f.loss = true
	return in.fitForm(f, likeliest, all)
}

// standsAlone reports whether s is a minimum whose unknowns the data can tell
// apart.
func (s *solution) standsAlone() bool {
	return s != nil && s.result.Converged() && s.result.Condition <= maxCondition
}

// hopeless reports whether s is so much worse than best that a special case of
// it need not be looked at.
func (s *solution) hopeless(best *solution) bool {
	noise := max(1, best.chi2/float64(max(best.prob.sweepRows()-len(best.x), 1)))
	return s.result.Converged() && s.chi2 > best.chi2+2*thinDoubt*noise
}

// plainCreep is the number of standard errors from zero from which on a creep
// leaves no chance to the same form without it.
const plainCreep = 8

// needsCreep reports whether the creep of s is beyond doubt. The standard error
// counts the misfit of the form as noise.
func (s *solution) needsCreep() bool {
	n, k := len(s.x), s.prob.lay.creep
	c, err := s.result.CovarianceTo(nil)
	if err != nil || !s.standsAlone() {
		return false
	}
	noise := max(1, s.chi2/float64(max(s.prob.sweepRows()-n, 1)))
	return param.Sq(s.x[k]) > plainCreep*plainCreep*noise*c[k*n+k]
}

// idle reports whether s has unknowns in its coil that the sweeps do not ask
// for: it does not stand alone, and is no better than a form it holds.
func (s *solution) idle(all []*solution) bool {
	return !s.standsAlone() && slices.ContainsFunc(all, func(t *solution) bool {
		return s.prob.form.holds(t.prob.form) && alike*s.result.SumSquares > t.result.SumSquares
	})
}

// alike is a ratio of two sums of squares that the tolerance may explain.
const alike = 1 + 1e-3

func better(a, b *solution) *solution {
	if a == nil || b != nil && b.result.SumSquares < a.result.SumSquares {
		return b
	}
	return a
}

// fitForm fits one form from the best fit so far, from the outline, and from the
// fits given as near. It takes the lowest minimum.
func (in *input) fitForm(f form, best *solution, all []*solution, near ...*solution) *solution {
	p := in.problem(f, false, 1)
	s := solve(p, in.warmStart(p, best), in.tol)
	for _, n := range near {
		if n != nil {
			s = better(s, solve(p, in.warmStart(p, n), in.tol))
		}
	}
	// A form that holds a simpler one inside cannot be worse than that one: if
	// it is, it sits in a local minimum, and the simpler fit is a better start.
	for _, simple := range all {
		if f.holds(simple.prob.form) && (s == nil || s.result.SumSquares > alike*simple.result.SumSquares) {
			s = better(s, solve(p, in.warmStart(p, simple), in.tol))
			s = better(s, solve(p, in.start(p, in.outline), in.tol))
		}
	}
	return s
}

// insideCoil lists the coil laws that are special or limiting cases of another.
var insideCoil = map[law.Law][]law.Law{
	law.LossyLaw{}:   {law.PlainLaw{}},
	law.TwoPartLaw{}: {law.PlainLaw{}},
	law.SemiLaw{}:    {law.PlainLaw{}},
	law.LadderLaw{}:  {law.PlainLaw{}, law.TwoPartLaw{}, law.SemiLaw{}},
	law.PowerLaw{}:   {law.PlainLaw{}, law.LossyLaw{}},
}

// holds reports whether g is a special or limiting case of f with the same
// suspension.
func (f form) holds(g form) bool {
	return f.creep == g.creep && f.loss == g.loss && slices.Contains(insideCoil[f.coil], g.coil)
}

// warmStart turns the solution of one form into a start for another.
func (in *input) warmStart(p *problem, from *solution) []float64 {
	l, m := p.lay, from.prob.lay
	x := make([]float64, l.n)
	for _, pr := range l.priors {
		x[pr.index] = pr.mean
	}
	set := func(to, at int) {
		if to >= 0 && at >= 0 {
			x[to] = from.x[at]
		}
	}
	set(l.re, m.re)
	set(l.fs, m.fs)
	set(l.qms, m.qms)
	set(l.res, m.res)
	set(l.mms, m.mms)
	set(l.vas, m.vas)
	set(l.sd, m.sd)
	for k := range l.heat {
		set(l.heat[k], m.heat[k])
		set(l.drift[k], m.drift[k])
		set(l.friction[k], m.friction[k])
	}
	if l.creep >= 0 && m.creep < 0 {
		x[l.creep] = 0.02
	}
	set(l.creep, m.creep)
	set(l.loss, m.loss)
	if p.form.coil == from.prob.form.coil {
		copy(x[l.coil:l.coil+l.coils], from.x[m.coil:m.coil+m.coils])
		return x
	}
	g := in.obs[in.ref].Axis
	if m.coils == 0 {
		copy(x[l.coil:], p.form.coil.Start(g, in.coilFor))
		return x
	}
	zl := make([]complex128, len(g.W))
	from.prob.form.coil.Eval(zl, nil, g, from.x[m.coil:m.coil+m.coils])
	for i, w := range g.W {
		if w < 2*2*math.Pi*in.outline.Fs {
			zl[i] = 0
		}
	}
	copy(x[l.coil:], p.form.coil.Start(g, zl))
	return x
}

// Widths of the weak priors that the comparison of forms stands on, as standard
// deviations: how far from a typical value one would not be surprised to find
// an unknown. They play no part in the fit of one form. See docs/decisions/0011.
const (
	widthCommon   = 2.0 // logarithms that every form has
	widthCoil     = 1.0 // logarithms of inductances and resistances of the coil
	widthExponent = 0.3 // logarithms of exponents
	widthCreep    = 0.1
	widthLoss     = 0.3
	// coilCost is the logarithm of the odds against one more unknown in the coil,
	// beside what occam says. Where a richer form becomes the simple one at a
	// limit, Laplace's approximation hardly charges for it.
	coilCost = 2
	// strangest bounds the cost of one unknown of the coil: beyond it lies a
	// limit, and it does not matter how near.
	strangest = 8
)

// evidence returns the logarithm of the probability of the sweeps under the
// form of s, up to a constant common to all forms, and the noise of likelihood.
func (in *input) evidence(s *solution) (e, noise float64) {
	if s.ruledOut {
		return math.Inf(-1), 1
	}
	like, noise := s.likelihood(in.known())
	return like + s.occam() - coilCost*float64(s.prob.lay.coils) - in.strangeness(s), noise
}

// strangeness returns what a coil costs whose unknowns lie far from those that
// the curve suggests at first sight: half the squares of the distances in widths
// of their weak priors. A richer law that becomes a simple one where some of its
// unknowns run away would else cost nothing, as Laplace's approximation sees no
// curvature there; what is left of such an unknown decides Re all the same.
func (in *input) strangeness(s *solution) float64 {
	l := s.prob.lay
	var cost float64
	for i, at := range s.prob.form.coil.Start(in.obs[in.ref].Axis, in.coilFor) {
		cost += min(param.Sq((s.x[l.coil+i]-at)/widthCoil)/2, strangest)
	}
	return cost
}

// likelihood returns the logarithm of the likelihood of the sweeps under the
// form of s, integrated over its unknowns up to the factor that occam adds, with
// the noise that makes it largest: theory (3.9). That noise, the number by which
// the residuals exceed their weights, is at least 1 where it was known.
func (s *solution) likelihood(known bool) (like, noise float64) {
	dof := float64(max(s.prob.nrows-s.prob.lay.n, 1))
	total := s.result.SumSquares
	noise = max(math.Sqrt(total/dof), minNoise)
	if known {
		noise = max(noise, 1)
	}
	return -dof*math.Log(noise) - total/(2*noise*noise), noise
}

// occam returns what the unknowns of a form cost: minus half the logarithm of
// the determinant of J'J in units of the weak priors, theory (3.10).
func (s *solution) occam() float64 {
	p, l := s.prob, s.prob.lay
	width := make([]float64, l.n)
	for i := range width {
		width[i] = widthCommon
	}
	for i, id := range p.form.coil.Params() {
		width[l.coil+i] = widthCoil
		if id.Info().Unit == "1" {
			width[l.coil+i] = widthExponent
		}
	}
	var e float64
	weak := func(i int, w float64) {
		if i >= 0 {
			width[i] = w
			e -= s.x[i] * s.x[i] / (2 * w * w)
		}
	}
	weak(l.creep, widthCreep)
	weak(l.loss, widthLoss)
	r := s.result.Factor() // J'J = R'R
	a := mat.NewSymDense(l.n, nil)
	for i := range l.n {
		for j := i; j < l.n; j++ {
			var sum float64
			for k := range i + 1 {
				sum += r[k*l.n+i] * r[k*l.n+j]
			}
			a.SetSym(i, j, sum*width[i]*width[j])
		}
		a.SetSym(i, i, a.At(i, i)+1) // unit prior: the unknowns are measured in widths
	}
	var chol mat.Cholesky
	if !chol.Factorize(a) {
		return math.Inf(-1)
	}
	return e - chol.LogDet()/2
}
