package change

import (
	"cmp"
	"math"
	"math/bits"
	"slices"
	"sort"

	"conewright/ts/internal/stat"
	"conewright/ts/param"

	"gonum.org/v1/gonum/mat"
)

// Explanation is a set of causes that together explain a change.
type Explanation struct {
	Causes []Cause // the largest effect first
	// Probability among the explanations that the data allow.
	Probability float64
	Chi2        float64 // of what is left unexplained
	DoF         int
	P           float64 // probability of a rest this large if the explanation is right
}

// Limits of the search.
const (
	mostCauses     = 4     // a larger set explains anything
	explainsAt     = 0.005 // P below this: does not explain
	oneMoreAt      = 11    // chi2 that one more cause must gain to be needed: P = 0.001, for ten causes tried
	oneMoreP       = 0.01  // the same where the bench scatters by an unknown size: for the three quantities in which it does
	tieProbability = 0.03  // explanations less probable than this are not named
	surest         = 0.999
	// mostNuisance bounds the penalty of a cause for side effects of unknown size (the
	// determinant in the likelihood). The size of a cause itself costs nothing, so
	// its side effects must not cost more than a further cause would.
	mostNuisance = 3.9 // a factor of 50
)

// causeSet is one set of directions with its best sizes.
type causeSet struct {
	set  uint32 // bits: indices into directions
	s    []float64
	std  []float64
	chi2 float64
	// deviance is -2 ln of the likelihood: chi2, or less where the size of V is known poorly.
	deviance float64
	dof      int
	p        float64
	weight   float64 // logarithm of prior odds times likelihood
}

// explain finds the smallest sets of causes that explain the change at 95 %,
//
//	chi2 = min over sizes s of (d - path(s))' V^-1 (d - path(s))      theory (5.10)
//
// V holding the measurement with its repeatability and the nuisance of the
// causes. A set is kept if it explains, each of its sizes differs from zero, and
// no smaller set inside it explains. Sets are weighed by prior odds times
// likelihood, theory (5.11); the likelihood is taken at the best sizes, so that
// two sets that fit equally well are told apart by plausibility alone. What an
// explanation weighs includes the larger sets around it. Nothing is found where the
// covariance is none.
func explain(f frame) (found []Explanation, unexplained bool) {
	var all []causeSet
	for set := uint32(0); set < 1<<len(directions); set++ {
		if bits.OnesCount32(set) <= mostCauses && compatible(set) {
			if s, ok := fitCauses(f, set); ok {
				all = append(all, s)
			}
		}
	}
	if len(all) == 0 {
		return nil, true
	}
	sort.SliceStable(all, func(i, j int) bool { return bits.OnesCount32(all[i].set) < bits.OnesCount32(all[j].set) })
	var minimal []causeSet
	for _, s := range all {
		if s.p >= explainsAt && !lacks(s, all, f.oneMore()) && !slices.ContainsFunc(minimal, func(m causeSet) bool { return m.set&s.set == m.set }) {
			minimal = append(minimal, s)
		}
	}
	if unexplained = len(minimal) == 0; unexplained {
		nearest := slices.MaxFunc(all, func(a, b causeSet) int { return cmp.Compare(a.weight, b.weight) })
		minimal = []causeSet{nearest}
	}
	support := supports(minimal, all)
	order := make([]int, len(minimal))
	for i := range order {
		order[i] = i
	}
	sort.SliceStable(order, func(i, j int) bool { return support[order[i]] > support[order[j]] })
	for _, i := range order {
		if support[i] < tieProbability && len(found) > 0 {
			break
		}
		m := minimal[i]
		found = append(found, Explanation{Causes: m.causes(f, all, len(found)+1), Probability: math.Min(support[i], surest),
			Chi2: m.chi2, DoF: m.dof, P: m.p})
	}
	return found, unexplained
}

// supports divides the weight of all sets among the minimal ones: a set with
// further causes is evidence for the minimal one inside it, the heaviest if there are
// several. Sets that hold none of them do not explain, and do not count.
func supports(minimal, all []causeSet) []float64 {
	top := math.Inf(-1)
	for _, s := range all {
		top = math.Max(top, s.weight)
	}
	support := make([]float64, len(minimal))
	total := 0.0
	for _, s := range all {
		best := -1
		for i, m := range minimal {
			if m.set&s.set == m.set && (best < 0 || m.weight > minimal[best].weight) {
				best = i
			}
		}
		if best >= 0 {
			w := math.Exp(s.weight - top)
			support[best] += w
			total += w
		}
	}
	for i := range support {
		support[i] /= total
	}
	return support
}

// lacks says whether one more cause, one without side effects, explains so much
// more that the set is incomplete, however well it fits on the whole.
func lacks(s causeSet, all []causeSet, least float64) bool {
	for _, more := range all {
		if extra := more.set &^ s.set; more.set&s.set == s.set && bits.OnesCount32(extra) == 1 &&
			directions[bits.TrailingZeros32(extra)].nuisance == nil && s.chi2-more.chi2 > least {
			return true
		}
	}
	return false
}

// compatible refuses sets in which one cause already contains another.
func compatible(set uint32) bool {
	for i, d := range directions {
		if set>>i&1 == 0 {
			continue
		}
		if d.alone && set != 1<<i {
			return false
		}
		for j, e := range directions {
			if j != i && set>>j&1 == 1 && (slices.Contains(d.excludes, e.up) || slices.Contains(d.excludes, e.down)) {
				return false
			}
		}
	}
	return true
}

// fitCauses weighs one set. The nuisance of its causes may show or not, so the
// likelihood is that of both cases together; sizes and chi2 are those of the
// more likely one. It fails if the data cannot tell the causes of the set apart, or
// if a size lies out of its bounds or does not differ from zero.
func fitCauses(f frame, set uint32) (causeSet, bool) {
	out := causeSet{set: set, dof: len(f.IDs) - bits.OnesCount32(set)}
	if out.dof < 0 {
		return out, false
	}
	var members []direction
	var nuisance []map[param.ID]float64
	odds, clean := 0.0, 1.0
	for i, d := range directions {
		if set>>i&1 == 1 {
			members = append(members, d)
			nuisance = append(nuisance, d.nuisance...)
			odds += math.Log(d.odds)
			if d.nuisance != nil {
				clean *= d.clean
			}
		}
	}
	var cases []causeSet
	try := func(nuisance []map[param.ID]float64, share float64) {
		if share == 0 {
			return
		}
		if s, ok := out.fit(f, members, nuisance); ok {
			s.weight += math.Log(share)
			cases = append(cases, s)
		}
	}
	try(nil, clean)
	if nuisance != nil {
		try(nuisance, 1-clean)
	}
	if len(cases) == 0 {
		return out, false
	}
	out = slices.MaxFunc(cases, func(a, b causeSet) int { return cmp.Compare(a.weight, b.weight) })
	sum := 0.0
	for _, s := range cases {
		sum += math.Exp(s.weight - out.weight)
	}
	out.weight += math.Log(sum) + odds
	return out, true
}

// fit finds the best sizes with the nuisance given added to the covariance; weight
// is set to the logarithm of the likelihood, up to a constant of the frame.
func (m causeSet) fit(f frame, members []direction, nuisance []map[param.ID]float64) (causeSet, bool) {
	n, k := len(f.IDs), len(members)
	chol, ok := f.covariance(f.V, nuisance)
	if !ok {
		return m, false
	}
	m.s = make([]float64, k)
	r := f.rest(members, m.s)
	for range 20 { // one step is exact but for shorted turns
		if k == 0 {
			break
		}
		step, std, ok := normalStep(f, members, m.s, r, chol)
		if !ok {
			return m, false
		}
		m.std = std
		size := 0.0
		for i, d := range members {
			m.s[i] = math.Min(math.Max(m.s[i]+step.AtVec(i), d.lo-1e-3), d.hi+1e-3)
			size = math.Max(size, math.Abs(step.AtVec(i)))
		}
		r = f.rest(members, m.s)
		if size < 1e-9 {
			break
		}
	}
	w := mat.NewVecDense(n, nil)
	if chol.SolveVecTo(w, r) != nil {
		return m, false
	}
	m.chi2 = mat.Dot(r, w)
	firm := m.chi2
	if f.quantities > 0 {
		var ok bool
		if firm, ok = f.firm(r, nuisance); !ok {
			return m, false
		}
	}
	m.p = tailOfChi2(firm, m.dof, certain)
	m.deviance = f.deviance(m.chi2, firm)
	m.weight = -m.deviance/2 - float64(k)
	if len(nuisance) > 0 {
		m.weight -= math.Min((chol.LogDet()-f.logDet)/2, mostNuisance)
	}
	t := f.scale.Quantile(1 - stat.Tail)
	for i, d := range members {
		if m.s[i] < d.lo || m.s[i] > d.hi || math.Abs(m.s[i]) < math.Max(d.least, t*m.std[i]) {
			return m, false
		}
	}
	return m, true
}

// firm returns the chi2 of a rest that stays if the bench scatters far more than it is said to:
// what is left in combinations of quantities in which no bench scatters.
func (f frame) firm(rest *mat.VecDense, nuisance []map[param.ID]float64) (chi2 float64, ok bool) {
	chol, ok := f.covariance(f.wide, nuisance)
	w := mat.NewVecDense(rest.Len(), nil)
	if !ok || chol.SolveVecTo(w, rest) != nil {
		return 0, false
	}
	return mat.Dot(rest, w), true
}

// covariance returns the factors of v with the nuisance added.
func (f frame) covariance(v *mat.SymDense, nuisance []map[param.ID]float64) (*mat.Cholesky, bool) {
	sum := mat.NewSymDense(len(f.IDs), nil)
	sum.CopySym(v)
	for _, e := range nuisance {
		sum.SymRankOne(sum, 1, f.vector(e))
	}
	chol := new(mat.Cholesky)
	return chol, chol.Factorize(sum)
}

// deviance returns -2 ln of the likelihood of a rest, but for a constant. What is firm counts as it
// is; for the other part, where the size of V rests on nu degrees of freedom, Student's t in
// the n quantities that it concerns counts,
//
//	firm + (nu + n) ln(1 + (chi2 - firm)/nu)                      theory (5.10)
//
// which is chi2 itself for many. Source: multivariate t, textbook; the two parts are a judgement.
func (f frame) deviance(chi2, firm float64) float64 {
	if f.quantities == 0 {
		return chi2
	}
	return firm + (f.scale.Dof+float64(f.quantities))*math.Log1p(max(0, chi2-firm)/f.scale.Dof)
}

// oneMore returns the chi2 that one more cause must gain to be needed.
func (f frame) oneMore() float64 {
	return max(oneMoreAt, param.Sq(f.scale.Quantile(1-oneMoreP/2)))
}

// rest returns d - sum of the paths.
func (f frame) rest(members []direction, s []float64) *mat.VecDense {
	rest := mat.NewVecDense(len(f.IDs), nil)
	rest.CopyVec(mat.NewVecDense(len(f.D), f.D))
	for i, d := range members {
		rest.SubVec(rest, f.vector(d.path(s[i], f)))
	}
	return rest
}

// normalStep solves one step of weighted least squares in the sizes, and
// returns their standard uncertainties.
func normalStep(f frame, members []direction, s []float64, r *mat.VecDense, chol *mat.Cholesky) (step *mat.VecDense, std []float64, ok bool) {
	n, k := len(f.IDs), len(members)
	j := mat.NewDense(n, k, nil)
	const h = 1e-6
	for c, d := range members {
		up, down := f.vector(d.path(s[c]+h, f)), f.vector(d.path(s[c]-h, f))
		up.SubVec(up, down)
		up.ScaleVec(1/(2*h), up)
		j.SetCol(c, up.RawVector().Data)
	}
	var vj mat.Dense
	if chol.SolveTo(&vj, j) != nil {
		return nil, nil, false
	}
	var jvj mat.Dense
	jvj.Mul(j.T(), &vj)
	sym := mat.NewSymDense(k, nil)
	for a := range k {
		for b := a; b < k; b++ {
			sym.SetSym(a, b, jvj.At(a, b))
		}
	}
	// Columns scaled to one, so that the condition shows what cannot be told apart.
	unit := mat.NewSymDense(k, nil)
	for a := range k {
		for b := a; b < k; b++ {
			unit.SetSym(a, b, sym.At(a, b)/math.Sqrt(sym.At(a, a)*sym.At(b, b)))
		}
	}
	var inner mat.Cholesky
	if !inner.Factorize(unit) || inner.Cond() > 1e8 {
		return nil, nil, false
	}
	var cov mat.SymDense
	if inner.InverseTo(&cov) != nil {
		return nil, nil, false
	}
	var g mat.VecDense
	g.MulVec(vj.T(), r)
	step = mat.NewVecDense(k, nil)
	std = make([]float64, k)
	for a := range k {
		sa := math.Sqrt(sym.At(a, a))
		std[a] = math.Sqrt(cov.At(a, a)) / sa
		var x float64
		for b := range k {
			x += cov.At(a, b) / sa * g.AtVec(b) / math.Sqrt(sym.At(b, b))
		}
		step.SetVec(a, x)
	}
	return step, std, true
}

// causes words one set; the probability of each cause is the weight of all
// sets that hold it, minimal or not.
func (m causeSet) causes(f frame, all []causeSet, number int) []Cause {
	if m.set == 0 {
		return []Cause{{ID: NoChange, Probability: inclusion(all, func(s causeSet) bool { return s.set == 0 }), Explanation: number}}
	}
	t := f.scale.Quantile(1 - stat.Tail)
	var out []Cause
	k := 0
	for i, d := range directions {
		if m.set>>i&1 == 0 {
			continue
		}
		s, u := m.s[k], m.std[k]
		c := Cause{ID: d.up, Percent: d.percent(s), Low: d.percent(s - t*u), High: d.percent(s + t*u), Explanation: number}
		if s < 0 {
			c.ID = d.down
		}
		c.Probability = inclusion(all, func(o causeSet) bool { return o.has(i, s < 0) })
		out = append(out, c)
		k++
	}
	return out
}

// has says whether the causeSet holds the direction i with this sign.
func (m causeSet) has(i int, negative bool) bool {
	if m.set>>i&1 == 0 {
		return false
	}
	k := bits.OnesCount32(m.set & (1<<i - 1))
	return m.s[k] < 0 == negative
}

func inclusion(all []causeSet, holds func(causeSet) bool) float64 {
	top := math.Inf(-1)
	for _, s := range all {
		top = math.Max(top, s.weight)
	}
	var with, total float64
	for _, s := range all {
		w := math.Exp(s.weight - top)
		total += w
		if holds(s) {
			with += w
		}
	}
	return math.Min(with/total, surest)
}
