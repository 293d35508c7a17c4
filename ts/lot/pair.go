package lot

import (
	"math"
	"slices"

	"conewright/ts/change"
	"conewright/ts/internal/refer"
	"conewright/ts/internal/stat"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/verdict"
)

// PairCheck is one quantity of a pair against its limit.
type PairCheck struct {
	Limit         PairLimit
	Known         bool    // false: one of the two sets does not hold it
	Percent       float64 // right over left
	Low, High     float64 // 95 %
	ProbabilityIn float64 // that the true difference is within the limit
	Margin        float64 // to the limit in standard uncertainties; negative outside
	Verdict       verdict.Verdict
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
	Warnings []notice.Notice
}

// Deciding returns the check that decided the verdict.
func (p *Paired) Deciding() PairCheck { return p.Checks[p.Worst] }

// Pair judges whether two drivers match. What both measurements share (the
// resistor, the diameter, the added mass) cancels, so a pair is judged more
// sharply than each driver against a sheet. The error is a [*notice.Notice].
func Pair(left, right param.Parameters, opt PairOptions) (*Paired, error) {
	limits, confidence, err := opt.complete()
	if err != nil {
		return nil, err
	}
	l, r, warnings, err := refer.Comparable(left, right)
	if err != nil {
		return nil, err
	}
	if opt.SameSession {
		l, r = repeat.OneSession(l, false), repeat.OneSession(r, false)
	}
	p := &Paired{Left: l, Right: r, Changes: change.Changes(l, r, opt.Direct), Warnings: warnings, Verdict: verdict.InSpec}
	var ids []param.ID
	for _, limit := range limits {
		ids = append(ids, limit.ID)
	}
	x := refer.Subtract(r, l, refer.Common(l, r, ids...)).With(opt.Direct)
	known := p.judge(x, limits, confidence)
	p.Chi2, p.DoF, p.P = change.Apart(l, r, opt.Direct)
	if p.Verdict != verdict.InSpec && len(known) > 0 {
		p.Fixes = fixes(p, x, known)
	}
	return p, nil
}

// judge holds the differences x to the limits; it returns the limits of the quantities in x.
func (p *Paired) judge(x refer.Difference, limits []PairLimit, confidence float64) []float64 {
	for i, limit := range limits {
		c := PairCheck{Limit: limit}
		if at := x.At(limit.ID); at >= 0 {
			d, u := x.D[at], math.Sqrt(x.V.At(at, at))
			c.Known = true
			spread := x.Dist(at)
			k := spread.Quantile(1 - stat.Tail)
			c.Percent, c.Low, c.High = percentOfLog(d), percentOfLog(d-k*u), percentOfLog(d+k*u)
			c.ProbabilityIn, c.Margin, c.Verdict = verdict.Decide(d, param.Bars{Down: u, Up: u}, -limit.scaled(), limit.scaled(), confidence, spread)
		}
		if p.doubted() {
			c.Verdict = verdict.Undecided
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
	return known
}

// doubted says whether one of the two may not have been measured alone.
func (p *Paired) doubted() bool { return len(p.Left.Doubts)+len(p.Right.Doubts) > 0 }

func worseCheck(a, b PairCheck) bool {
	return verdict.WorseThan(verdict.Judged{Known: a.Known, Verdict: a.Verdict, Margin: a.Margin}, verdict.Judged{Known: b.Known, Verdict: b.Verdict, Margin: b.Margin})
}

// percentOfLog turns the logarithm of a ratio into percent.
func percentOfLog(s float64) float64 { return 100 * math.Expm1(s) }

// knownLimits returns the limits of the quantities in x, in the order of x.
func knownLimits(limits []PairLimit, x refer.Difference) []float64 {
	out := make([]float64, len(x.IDs))
	for i, id := range x.IDs {
		at := slices.IndexFunc(limits, func(l PairLimit) bool { return l.ID == id })
		out[i] = limits[at].scaled()
	}
	return out
}
