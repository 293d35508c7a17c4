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
// Terms that are zero count for nothing, however few their degrees of freedom; with
// infinite ones alone the result is infinite.
//
// Source: Welch, Biometrika 34, 1947; JCGM 100:2008, G.4 (from memory). Theory (8.12).
func Combine(terms ...Term) Spread {
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
	// In units of the largest term, so that no fourth power leaves the range of numbers.
	var largest float64
	for _, t := range single {
		largest = math.Max(largest, math.Abs(t.Std))
	}
	if largest == 0 {
		return Spread{0, math.Inf(1)}
	}
	var v, doubt float64
	for _, t := range single {
		if t.Std == 0 {
			continue
		}
		u2 := t.Std / largest * t.Std / largest
		v += u2
		if t.Dof <= 0 {
			doubt = math.Inf(1) // nothing known of a term is nothing known of the sum
		}
		doubt += u2 * u2 / t.Dof
	}
	return Spread{v * largest * largest, v * v / doubt}
}

// Difference returns the spread of the difference of two means of readings, from
// the spread of each level, outermost first. before and after count the groups that a mean
// is made of, level by level: one session, two clampings, six sweeps are 1, 2, 6, and
// every group is taken to hold as much as any other. What the two have in common cancels:
// the first shared levels, none for two sessions of two operators.
//
//	V = sum over the levels that are not shared of v (1/before + 1/after)
//
// Source: derived; degrees of freedom as Combine. Theory (8.13).
func Difference(levels []Spread, before, after []int, shared int) Spread {
	var terms []Term
	for k, w := range differenceWeights(len(levels), before, after, shared) {
		terms = append(terms, Term{"", math.Sqrt(w * levels[k].Variance), levels[k].Dof})
	}
	return Combine(terms...)
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
