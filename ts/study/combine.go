package study

import "math"

// Term is one contribution to the uncertainty of a result: its standard uncertainty
// times the slope of the result, with sign, and the degrees of freedom behind it.
type Term struct {
	// Source names what the error comes from. Terms of one source are one error and are added
	// with their signs before anything is squared; a term without a name is
	// independent of all others.
	Source string
	Std    float64
	Dof    float64 // may be infinite
}

// Combine returns the combined spread of independent errors, by Welch and
// Satterthwaite, with degrees of freedom that are not rounded:
//
//	V = sum u^2,   nu = V^2/sum( u^4/nu_i )
//
// It holds where the u come from repeats. Terms that are zero count for nothing, however few
// their degrees of freedom; with infinite ones alone the result is infinite.
//
// Source: Welch, Biometrika 34, 1947; JCGM 100:2008, G.4 (from memory). Theory (8.12).
func Combine(terms ...Term) Spread {
	v, _, quartic := sums(terms)
	return Spread{v, v * v / quartic}.orExact()
}

// CombineJudged is Combine for terms whose degrees of freedom are judgement, as in priors, where the
// error of each is drawn from Student's t and Welch and Satterthwaite hold 82 to 93 times in 100
// on 2 to 8 degrees of freedom:
//
//	V = sum u^2,   nu = V/sum( u^2/nu_i )
//
// Source: derived; the weighted mean of t quantiles of Cochran, Biometrics 20, 1964 (from memory), to
// first order in 1/nu. Theory (8.12).
func CombineJudged(terms ...Term) Spread {
	v, quadratic, _ := sums(terms)
	return Spread{v, v / quadratic}.orExact()
}

// orExact is s, or where there is no error, one that is known exactly.
func (s Spread) orExact() Spread {
	if s.Variance == 0 {
		return Spread{0, math.Inf(1)}
	}
	return s
}

// sums returns sum u^2, sum u^2/nu and sum u^4/nu over the terms, those of one source
// taken as one.
func sums(terms []Term) (v, quadratic, quartic float64) {
	var single []Term
	place := map[string]int{}
	for _, t := range terms {
		at, seen := place[t.Source]
		if t.Source == "" || !seen {
			place[t.Source] = len(single)
			single = append(single, t)
			continue
		}
		single[at].Std += t.Std
		single[at].Dof = math.Min(single[at].Dof, t.Dof)
	}
	for _, t := range single {
		if t.Std == 0 {
			continue
		}
		u2 := t.Std * t.Std
		v += u2
		if t.Dof <= 0 { // nothing known of a term is nothing known of the sum
			quadratic, quartic = math.Inf(1), math.Inf(1)
		}
		quadratic += u2 / t.Dof
		quartic += u2 * u2 / t.Dof
	}
	return v, quadratic, quartic
}

// DifferenceTerms returns what makes the difference of two means of readings uncertain, from
// the spread of each level, outermost first. before and after count the groups that a mean
// is made of, level by level: one session, two clampings, six sweeps are 1, 2, 6, and
// every group is taken to hold as much as any other. What the two have in common cancels:
// the first shared levels, none for two sessions of two operators.
//
//	V = sum over the levels that are not shared of v (1/before + 1/after)
//
// Source: derived. Theory (8.13).
func DifferenceTerms(levels []Spread, before, after []int, shared int) []Term {
	var terms []Term
	for k, w := range differenceWeights(len(levels), before, after, shared) {
		terms = append(terms, Term{"", math.Sqrt(w * levels[k].Variance), levels[k].Dof})
	}
	return terms
}

// differenceWeights returns what multiplies the variance of each of n levels in
// the difference of two means.
func differenceWeights(n int, before, after []int, shared int) []float64 {
	if len(before) != n || len(after) != n {
		panic("study: a count of groups for each level")
	}
	w := make([]float64, n)
	for k := shared; k < n; k++ {
		if before[k] < 1 || after[k] < 1 {
			panic("study: a mean of no groups")
		}
		w[k] = 1/float64(before[k]) + 1/float64(after[k])
	}
	return w
}
