package estimate

import (
	"cmp"
	"math"
	"math/cmplx"
	"slices"

	"conewright/ts/internal/lsq"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
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

// weigh weighs the forms, each trusted and, where the residuals hint at a misfit,
// doubted. The heaviest comes first. The alarm is the gain in log likelihood that a
// misfit brings to the heaviest of the trusted.
func (in input) weigh(found []*solution) (all []candidate, alarm float64) {
	for _, s := range found {
		c := candidate{solution: s}
		c.evidence, c.misfit.noise = in.evidence(s)
		all = append(all, c)
	}
	all = weighed(all)
	heaviest := all[0].solution
	pieces := in.reduce(heaviest, heaviest.pieces(false))
	alarm = pieces.alarm(in.known())
	if alarm > floorGain {
		if d, ok := in.lawless(heaviest, pieces); ok {
			if doubted := in.local(all, d); len(doubted) > 0 {
				return weighed(append(all, doubted...)), alarm
			}
		}
	}
	if alarm > suspectGain || !heaviest.prob.form.causal() {
		all = weighed(append(all, in.doubted(all, alarm)...))
	}
	return all, alarm
}

// weighed turns evidence into weights, and puts the heaviest first.
func weighed(all []candidate) []candidate {
	all = slices.Clone(all)
	slices.SortStableFunc(all, func(a, b candidate) int { return cmp.Compare(b.evidence, a.evidence) })
	total, top := 0.0, all[0].evidence
	for i := range all {
		all[i].weight = math.Exp(all[i].evidence - top)
		total += all[i].weight
	}
	for i := range all {
		all[i].weight /= total
	}
	return all
}

// doubted returns the forms with the sizes of the misfit that their residuals
// show. While the misfit is a suspicion only the forms that count are doubted,
// and where the heaviest is a law that no circuit obeys, all others: what such a
// law follows so well may be a possible coil and an error of the bench. Once the
// misfit is beyond doubt every form is doubted but for two kinds:
// the law that no circuit obeys, to which causal pieces cannot be added, and a
// suspension without creep beside the same with it.
func (in input) doubted(trusted []candidate, alarm float64) []candidate {
	firm := alarm > floorGain
	rivals := func(test func(f form) bool) bool {
		return slices.ContainsFunc(trusted, func(c candidate) bool { return !c.ruledOut && test(c.prob.form) })
	}
	top := math.Inf(-1)
	var all []candidate
	for _, c := range trusted {
		f := c.prob.form
		counts := c.weight >= minWeight || firm || f.causal() && !trusted[0].prob.form.causal()
		withCreep := func(g form) bool { return g.creep && g.coil == f.coil }
		if c.ruledOut || !counts || firm && (!f.causal() && rivals(form.causal) || !f.creep && rivals(withCreep)) {
			continue
		}
		d := candidate{solution: c.solution, pieces: c.solution.pieces(true)}
		d.misfit = in.reduce(c.solution, d.pieces).size(in.known(), firm)
		if !d.misfit.any() {
			continue
		}
		d.evidence = c.evidence + d.misfit.gain - beliefCost
		top = max(top, d.evidence)
		all = append(all, d)
	}
	if firm { // floors cost likelihood: they say how to doubt, not whether
		for i := range all {
			all[i].evidence += max(0, trusted[0].evidence+alarm-beliefCost-top)
		}
	}
	return all
}

// lawless returns the discrepancy that the residuals of a form show, and whether it explains them
// better than any change of its laws, its pieces, could.
func (in input) lawless(s *solution, pieces *reduced) (discrepancy, bool) {
	one, t := in.alone(s)
	if t != s {
		pieces = one.reduce(t, t.pieces(false))
	}
	none, _ := pieces.withoutPieces(one.known())
	free := *pieces
	free.total = free.rest
	most, _ := free.withoutPieces(one.known())
	r := one.reduceLocal(t, one.noDiscrepancy())
	d := r.sizes(one.known(), sizeRounds)
	return d, r.gain(d, one.known()) > most-none+lawlessGain
}

// local returns the forms with a discrepancy that is local in frequency: those that come near enough, are possible
// circuits and have creep, where there are such. The discrepancy is that of the driver, and the same for all: its sizes are found
// with the form that comes nearest.
func (in input) local(trusted []candidate, d discrepancy) []candidate {
	nearest := slices.MinFunc(trusted, func(a, b candidate) int { return cmp.Compare(a.chi2, b.chi2) })
	near := func(test func(f form) bool) func(c candidate) bool {
		return func(c candidate) bool { return c.chi2 <= farOff*nearest.chi2 && test(c.prob.form) }
	}
	all := in.noDiscrepancy()
	size := func(d discrepancy, smooth float64) *whitener {
		all.size, all.noise = d.spread(all.knots), d.noise
		w := in.whitener(all)
		if len(in.obs) > 1 { // other sweeps, other noise
			all.noise = in.noiseUnder(nearest.solution, w, smooth)
			w = in.whitener(all)
		}
		return w
	}
	// Smoothing is the program's, and found from one sweep as well: four alike would be surer of it than each.
	one, t := in.alone(nearest.solution)
	e := one.noDiscrepancy()
	e.size, e.noise = d.size, d.noise
	s, smooth := one.smoothing(t, one.whitener(e))
	if s != nil {
		d = one.reduceLocal(s, e).sizes(one.known(), sizeRounds)
	}
	w := size(d, smooth)
	var doubted []candidate
	for _, c := range slices.DeleteFunc(slices.Clone(trusted), func(c candidate) bool {
		f := c.prob.form
		return !near(func(form) bool { return true })(c) ||
			!f.causal() && slices.ContainsFunc(trusted, near(form.causal)) ||
			!f.creep && slices.ContainsFunc(trusted, near(func(g form) bool { return g.creep && g.coil == f.coil }))
	}) {
		if c.solution == nearest.solution && s != nil && len(in.obs) == 1 {
			c.solution = s // nearer
		}
		if s := in.under(c.solution, w, smooth, lsq.Settings{OffsetTol: localTol}); s != nil {
			c = candidate{solution: s, misfit: misfit{noise: all.noise, local: all}}
			c.evidence, _ = in.evidence(s)
			c.evidence -= beliefCost
			if s.misses() <= poorLocalFit {
				doubted = append(doubted, c)
			}
		}
	}
	return doubted
}

// noiseUnder returns the noise of all sweeps under the discrepancy of one of them: that of other sweeps is another, and what
// they have in common counts once.
func (in input) noiseUnder(s *solution, w *whitener, smooth float64) float64 {
	t := in.under(s, w, smooth, lsq.Settings{OffsetTol: roughTol})
	if t == nil {
		return w.noise
	}
	return w.noise * math.Sqrt(t.shared()*t.result.SumSquares/float64(t.prob.sweepRows()-t.prob.lay.n))
}

// smoothing returns the width (octaves) over which the curve has been smoothed, as far as the sweeps say so, and the
// fit with it.
func (in input) smoothing(from *solution, w *whitener) (s *solution, width float64) {
	s = in.under(from, w, 0, lsq.Settings{OffsetTol: roughTol, Keep: true})
	if s == nil {
		return nil, 0
	}
	least := s.result.SumSquares - 2*smoothGain
	for i, left := range in.smoothedLeft(s) {
		if left < least {
			width, least = smoothings[i], left
		}
	}
	if width == 0 {
		return s, 0
	}
	return in.under(s, w, width, lsq.Settings{OffsetTol: roughTol}), width
}

// smoothedLeft returns the sum of squares that each width of smoothing would leave, as a linear step from the solution
// without smoothing, whose Jacobian is kept, tells: the part of its residuals that no change of the unknowns takes up.
func (in input) smoothedLeft(s *solution) []float64 {
	p := *s.prob
	rows, n := p.Dims()
	a := in.mem.columns(rows * (n + len(smoothings)))
	column := func(i int) []float64 { return a[(n+i)*rows : (n+i+1)*rows] }
	copy(a, s.result.Jacobian)
	for i, v := range smoothings {
		p.form.smooth = v
		p.Eval(column(i), nil, s.x)
	}
	lsq.Triangle(a, rows)
	left := make([]float64, len(smoothings))
	for i := range left {
		rest := column(i)[n : n+i+1]
		left[i] = dot(rest, rest)
	}
	return left
}

// under fits a form under a discrepancy to a curve that was smoothed; nil where it comes to no minimum.
func (in input) under(s *solution, w *whitener, smooth float64, set lsq.Settings) *solution {
	p := in.doubting(s, w, smooth)
	return settle(p, in.warmStart(p, s), set)
}

// doubting is the problem of under.
func (in input) doubting(s *solution, w *whitener, smooth float64) *problem {
	f := s.prob.form
	f.smooth = smooth
	p := in.problem(f, false, w.noise)
	p.doubt(w, s.x[s.prob.lay.coil:])
	return p
}

// misses returns the relative rms by which the law alone misses the sweeps.
func (s *solution) misses() float64 {
	var sum, n float64
	for k := range s.prob.obs {
		o := &s.prob.obs[k]
		for i, z := range s.prob.impedance(s.x, k) {
			if o.magnitudeOnly {
				z = complex(cmplx.Abs(z), 0)
			}
			sum += square(z-o.z[i]) / square(o.z[i])
		}
		n += float64(len(o.z))
	}
	return math.Sqrt(sum / n)
}

// evidence returns the logarithm of the probability of the sweeps under the
// form of s, up to a constant common to all forms, and the noise of likelihood.
func (o *observed) evidence(s *solution) (e, noise float64) {
	if s.ruledOut {
		return math.Inf(-1), 1
	}
	like, noise := s.likelihood(o.known())
	return like + s.occamFactor() - coilCost*float64(s.prob.lay.coils) - o.coilPenalty(s), noise
}

// coilPenalty returns the prior penalty of a coil: half the squares of the distances of
// its unknowns from those that the curve suggests at first sight, in widths
// of their weak priors. A richer law that becomes a simple one where some of its
// unknowns grow without bound would else cost nothing, as Laplace's approximation sees no
// curvature there; such an unknown decides Re all the same.
func (o *observed) coilPenalty(s *solution) float64 {
	l := s.prob.lay
	var cost float64
	for i, at := range s.prob.form.coil.Start(o.obs[o.ref].Axis, o.coil) {
		cost += min(param.Sq((s.x[l.coil+i]-at)/widthCoil)/2, mostPenalty)
	}
	return cost
}

// likelihood returns the logarithm of the likelihood of the sweeps under the
// form of s, integrated over its unknowns up to the factor that occam adds, with
// the noise that makes it largest: theory (3.9). That noise, the number by which
// the residuals exceed their weights, is at least 1 where it was known.
func (s *solution) likelihood(known bool) (like, noise float64) {
	dof := float64(max(s.prob.sweepRows()+len(s.prob.lay.priors)-s.prob.lay.n, 1))
	total := s.result.SumSquares
	if w := s.prob.white; w != nil {
		return -dof*math.Log(w.noise) - (total+w.logDet)/2, w.noise
	}
	noise = max(math.Sqrt(total/dof), minNoise)
	if known {
		noise = max(noise, 1)
	}
	return -dof*math.Log(noise) - total/(2*noise*noise), noise
}

// occam returns what the unknowns of a form cost: minus half the logarithm of
// the determinant of J'J in units of the weak priors, theory (3.10).
func (s *solution) occamFactor() float64 {
	p, l := s.prob, s.prob.lay
	width := make([]float64, l.n)
	for i := range width {
		width[i] = widthCommon
	}
	for i, u := range p.form.coil.Unknowns() {
		width[l.coil+i] = widthCoil
		if u.Exponent {
			width[l.coil+i] = widthExponent
		}
	}
	var e float64
	if i := l.creep; i >= 0 {
		width[i] = widthCreep
		e = -s.x[i] * s.x[i] / (2 * widthCreep * widthCreep)
	}
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
