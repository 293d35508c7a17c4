package lot

import (
	"fmt"
	"math"
	"math/rand/v2"
	"slices"

	"conewright/ts/change"
	"conewright/ts/internal/refer"
	"conewright/ts/internal/session"
	"conewright/ts/internal/stat"
	"conewright/ts/param"
	"conewright/ts/verdict"

	"gonum.org/v1/gonum/mat"
)

// PairLimit is how much two drivers of a pair may differ in one quantity.
type PairLimit struct {
	ID      param.ParamID
	Percent float64 // of the smaller value
}

// scaled returns the limit on the difference of the scaled values.
func (l PairLimit) scaled() float64 { return math.Log1p(l.Percent / 100) }

// UsualPairLimits is what a pair must agree in where nothing else was agreed.
// Common practice: resonance within 5 %, total Q within 10 %, impedance within
// 5 %.
var UsualPairLimits = []PairLimit{{param.Re, 5}, {param.Fs, 5}, {param.Qts, 10}}

// PairOptions holds what a pair is judged by.
type PairOptions struct {
	Limits     []PairLimit // nil: UsualPairLimits
	Confidence float64     // of a decision; 0: 0.95
}

// PairCheck is one quantity of a pair against its limit.
type PairCheck struct {
	Limit         PairLimit
	Known         bool    // false: one of the two sets does not hold it
	Percent       float64 // right over left
	Low, High     float64 // 95 %
	ProbabilityIn float64 // that the true difference is within the limit
	Margin        float64 // to the limit in standard uncertainties; negative outside
	Verdict       verdict.Verdict

	difference, std float64 // right less left on the scale of the quantity
}

// Paired is how two drivers match.
type Paired struct {
	Left, Right param.Parameters // as compared: right at the conditions of left
	Changes     []change.Change  // right over left, every quantity
	Checks      []PairCheck
	Verdict     verdict.Verdict // the worst of Checks decides
	Worst       int             // the one of Checks that decided
	// Together is the probability that all limits are met at once, with the
	// correlations between the quantities.
	Together float64
	// Distance is the one number for the match, theory (5.15): 0 for equal
	// drivers, 2 for one quantity at its limit when the measurement is sharp.
	Distance float64
	// Chi2, DoF and P ask whether the drivers differ at all.
	Chi2 float64
	DoF  int
	P    float64
	// Fixes are ways to bring them closer, the best first.
	Fixes    []PairFix
	Warnings []param.Warning

	confidence float64
	spread     stat.Dist
}

// Deciding returns the check that decided the verdict.
func (p *Paired) Deciding() PairCheck { return p.Checks[p.Worst] }

// Pair judges whether two drivers match. What both measurements share (the
// resistor, the diameter, the added mass) cancels, so a pair is judged more
// sharply than each driver against a sheet. The error is a [*Refusal].
func Pair(left, right param.Parameters, opt PairOptions) (*Paired, error) {
	limits, confidence, err := opt.complete()
	if err != nil {
		return nil, err
	}
	l, r, warnings, err := change.Comparable(left, right)
	if err != nil {
		return nil, err
	}
	p := &Paired{Left: l, Right: r, Changes: change.Changes(l, r), Warnings: warnings, Verdict: verdict.InSpec, confidence: confidence}
	var ids []param.ParamID
	for _, limit := range limits {
		ids = append(ids, limit.ID)
	}
	x := refer.Subtract(r, l, refer.Common(l, r, ids...))
	p.spread = x.Spread
	k := x.Spread.Quantile(0.975)
	for i, limit := range limits {
		c := PairCheck{Limit: limit}
		if at := x.At(limit.ID); at >= 0 {
			d, u := x.D[at], math.Sqrt(x.V.At(at, at))
			c.Known, c.difference, c.std = true, d, u
			c.Percent, c.Low, c.High = change.PercentOfLog(d), change.PercentOfLog(d-k*u), change.PercentOfLog(d+k*u)
			c.ProbabilityIn, c.Margin, c.Verdict = verdict.Decide(d, param.Bars{Down: u, Up: u}, -limit.scaled(), limit.scaled(), confidence, x.Spread)
		}
		p.Checks = append(p.Checks, c)
		p.Verdict = verdict.Worst(p.Verdict, c.Verdict)
		if i == 0 || worseCheck(c, p.Checks[p.Worst]) {
			p.Worst = i
		}
	}
	known := knownLimits(limits, x)
	p.Together = jointProbability(x, known)
	p.Distance = matchDistance(slices.Clone(x.D), lowerTriangle(x.V), known)
	f := change.NewFrame(l, r, change.Drift{})
	p.DoF = len(f.Ids)
	var chol mat.Cholesky
	if w := mat.NewVecDense(p.DoF, nil); chol.Factorize(f.V) && chol.SolveVecTo(w, mat.NewVecDense(p.DoF, f.D)) == nil {
		p.Chi2 = mat.Dot(w, mat.NewVecDense(p.DoF, f.D))
	}
	p.P = change.TailOfChi2(p.Chi2, p.DoF, f.Spread)
	if p.Verdict != verdict.InSpec && len(known) > 0 {
		p.Fixes = fixes(p, x, known)
	}
	return p, nil
}

// complete fills in and checks the options.
func (o PairOptions) complete() ([]PairLimit, float64, error) {
	limits, confidence := o.Limits, o.Confidence
	if limits == nil {
		limits = UsualPairLimits
	}
	if confidence == 0 {
		confidence = 0.95
	}
	if !(confidence >= 0.5 && confidence < 1) || len(limits) == 0 {
		return nil, 0, &param.Refusal{Code: "bad-pair-options", Message: fmt.Sprintf("a pair cannot be judged with %d limits at a confidence of %v", len(limits), confidence),
			Advice: "give at least one limit, and a confidence from 0.5 to below 1"}
	}
	for _, l := range limits {
		if !(l.Percent > 0) || math.IsInf(l.Percent, 0) || !l.ID.Info().Positive {
			return nil, 0, &param.Refusal{Code: "bad-pair-limit", Message: fmt.Sprintf("a pair cannot be held to %v %% in %v", l.Percent, l.ID),
				Advice: "give a positive percentage for a quantity that is always positive, such as Fs"}
		}
	}
	return limits, confidence, nil
}

func worseCheck(a, b PairCheck) bool {
	return verdict.WorseThan(verdict.Judged{Known: a.Known, Verdict: a.Verdict, Margin: a.Margin}, verdict.Judged{Known: b.Known, Verdict: b.Verdict, Margin: b.Margin})
}

// knownLimits returns the limits of the quantities in x, in the order of x.
func knownLimits(limits []PairLimit, x refer.Difference) []float64 {
	out := make([]float64, len(x.Ids))
	for i, id := range x.Ids {
		at := slices.IndexFunc(limits, func(l PairLimit) bool { return l.ID == id })
		out[i] = limits[at].scaled()
	}
	return out
}

// jointProbability returns the probability that all true differences lie within
// their limits, from 20000 draws with a fixed seed (good to 0.004).
func jointProbability(x refer.Difference, limits []float64) float64 {
	n := len(x.Ids)
	v := mat.NewSymDense(max(n, 1), nil)
	v.CopySym(x.V)
	for i := range n {
		v.SetSym(i, i, v.At(i, i)+1e-18) // a value known exactly
	}
	var chol mat.Cholesky
	if n == 0 || !chol.Factorize(v) {
		return 0
	}
	var lower mat.TriDense
	chol.LTo(&lower)
	rng := rand.New(rand.NewPCG(106, 2012))
	const draws = 20000
	in := 0
	z := make([]float64, n)
draw:
	for range draws {
		for i := range z {
			z[i] = rng.NormFloat64()
		}
		for i := range n {
			d := x.D[i]
			for j := 0; j <= i; j++ {
				d += lower.At(i, j) * z[j]
			}
			if math.Abs(d) > limits[i] {
				continue draw
			}
		}
		in++
	}
	return float64(in) / draws
}

// matchDistance returns
//
//	D = sqrt( d' (V + diag(limit/2)^2)^-1 d )                    theory (5.15)
//
// a distance that knows the uncertainties and their correlations (after
// Mahalanobis) and measures in halves of the limits. V is given as its lower
// triangle row by row; it and d are overwritten: a batch asks for millions of
// distances, so that the Cholesky factor L is found in place, and D = |L^-1 d|.
func matchDistance(d, v, limits []float64) float64 {
	sum := 0.0
	for i := range d {
		row := v[i*(i+1)/2:]
		row[i] += param.Sq(limits[i] / 2)
		for j := range i + 1 {
			other := v[j*(j+1)/2:]
			for k := range j {
				row[j] -= row[k] * other[k]
			}
			switch {
			case j < i:
				row[j] /= other[j]
				d[i] -= row[j] * d[j]
			case !(row[i] > 0):
				return math.Inf(1)
			default:
				row[i] = math.Sqrt(row[i])
			}
		}
		d[i] /= row[i]
		sum += d[i] * d[i]
	}
	return math.Sqrt(sum)
}

// lowerTriangle copies the lower triangle of v row by row.
func lowerTriangle(v *mat.SymDense) []float64 {
	var out []float64
	for i := range v.SymmetricDim() {
		for j := range i + 1 {
			out = append(out, v.At(i, j))
		}
	}
	return out
}

// toleranceMetric returns (V + diag(limit/2)^2)^-1.
func toleranceMetric(v *mat.SymDense, limits []float64) *mat.SymDense {
	n := len(limits)
	m := mat.NewSymDense(n, nil)
	m.CopySym(v)
	for i, l := range limits {
		m.SetSym(i, i, m.At(i, i)+l*l/4)
	}
	var chol mat.Cholesky
	var w mat.SymDense
	if !chol.Factorize(m) || chol.InverseTo(&w) != nil {
		return nil
	}
	return &w
}

// PairFix is something to do to one of the two that brings them closer.
type PairFix struct {
	Side     Side
	What     FixKind
	Percent  float64 // of the moving mass to add, or of the stiffness to take away
	Mass     float64 // kg to add; 0: not known, or not a mass
	Distance float64 // that is left
	Within   bool    // all limits would then be met, at the values found
	// Level is the change of the level above resonance in dB that a mass costs.
	Level float64
}

// Side says which of a pair.
type Side uint8

// The sides.
const (
	LeftSide Side = iota
	RightSide
)

// String returns the word used in JSON.
func (s Side) String() string { return [...]string{"left", "right"}[s] }

// FixKind says what to change.
type FixKind string

// The kinds of fixes.
const (
	AddMass FixKind = "add-mass" // a ring on the cone
	Soften  FixKind = "soften"   // a softer surround, or running in
)

// fixes works out how much of each remedy brings the pair closest, by least
// squares in the metric of the distance: s = -(g' W d)/(g' W g) along the
// direction g that the remedy moves the difference.
func fixes(p *Paired, x refer.Difference, limits []float64) []PairFix {
	w := toleranceMetric(x.V, limits)
	if w == nil {
		return nil
	}
	n := len(x.Ids)
	d := mat.NewVecDense(n, x.D)
	var out []PairFix
	for _, side := range []Side{LeftSide, RightSide} {
		for _, what := range []FixKind{AddMass, Soften} {
			g := mat.NewVecDense(n, nil)
			for i, id := range x.Ids {
				slope := refer.MassSlope[id]
				if what == Soften {
					slope = -softenSlope[id]
				}
				if side == LeftSide {
					slope = -slope // moves left, so the difference the other way
				}
				g.SetVec(i, slope)
			}
			gg := mat.Inner(g, w, g)
			if gg == 0 {
				continue
			}
			s := -mat.Inner(g, w, d) / gg
			if s < 0.005 { // a mass can only be added, a suspension only softened
				continue
			}
			after := mat.NewVecDense(n, nil)
			after.AddScaledVec(d, s, g)
			fix := PairFix{Side: side, What: what, Percent: change.PercentOfLog(s), Distance: math.Sqrt(mat.Inner(after, w, after)), Within: true}
			if what == Soften {
				fix.Percent = -change.PercentOfLog(-s)
			}
			for i := range n {
				fix.Within = fix.Within && math.Abs(after.AtVec(i)) <= limits[i]
			}
			if what == AddMass {
				set := p.Left
				if side == RightSide {
					set = p.Right
				}
				if m, ok := set.Get(param.Mms); ok {
					fix.Mass = m.Value * math.Expm1(s)
				}
				fix.Level = -20 * s / math.Ln10
			}
			out = append(out, fix)
		}
	}
	slices.SortStableFunc(out, func(a, b PairFix) int {
		switch {
		case a.Distance < b.Distance:
			return -1
		case a.Distance > b.Distance:
			return 1
		}
		return 0
	})
	// What does not help noticeably is no advice.
	return slices.DeleteFunc(out, func(f PairFix) bool { return f.Distance > 0.8*p.Distance })
}

// softenSlope is d ln(quantity)/d ln(stiffness).
var softenSlope = map[param.ParamID]float64{param.Fs: 0.5, param.Qms: 0.5, param.Qes: 0.5, param.Qts: 0.5, param.Cms: -1, param.Lces: -1, param.Vas: -1}

// HoldsForOneSweep is the same for a pair of which each driver was swept once.
func (p *Paired) HoldsForOneSweep() bool {
	v := verdict.InSpec
	for _, c := range p.Checks {
		one := c.Verdict
		if c.Known {
			u := math.Hypot(c.std, math.Sqrt(2*session.UsualRunVariance(c.Limit.ID, 1)))
			_, _, one = verdict.Decide(c.difference, param.Bars{Down: u, Up: u}, -c.Limit.scaled(), c.Limit.scaled(), p.confidence, p.spread)
		}
		v = verdict.Worst(v, one)
	}
	return v == p.Verdict
}
