package estimate

import (
	"math"
	"slices"
)

// leastTrust is the doubt that what is believed keeps in the uncertainty, as long
// as it is believed: so the value never lies outside its interval.
const leastTrust = 0.1

// doubtOf returns the weight in the uncertainty of something that has the weight
// believed in the values, and the weight doubted by the odds of the uncertainty.
func doubtOf(believed, doubted float64) float64 {
	return max(believed, min(doubted, 1-leastTrust))
}

// suspect gives the misfit that the residuals hint at its weight in the
// uncertainty. The values follow it with its weight p, under odds of beliefCost
// against it; the uncertainty takes it with the weight q, under odds of doubtCost,
// as a member of its own where it was too light to become one. theory (4.12),
// docs/decisions/0016.
func (in *input) suspect(members []*member, all []*candidate) []*member {
	i := slices.IndexFunc(members, func(m *member) bool { return !m.misfit.any() })
	if i < 0 {
		return members
	}
	// A driver has a coil or not; values are compared within one kind.
	coil := members[i].prob.lay.coils > 0
	var p float64
	var heaviest *candidate
	for _, c := range all {
		if c.misfit.any() && (c.prob.lay.coils > 0) == coil {
			p += c.weight
			if heaviest == nil {
				heaviest = c
			}
		}
	}
	odds := p / (1 - p) * math.Exp(beliefCost-doubtCost)
	q := doubtOf(p, odds/(1+odds))
	if q < minWeight {
		return members
	}
	var trusted, doubted float64
	for _, m := range members {
		if m.misfit.any() {
			doubted += m.doubt
		} else {
			trusted += m.doubt
		}
	}
	if doubted == 0 {
		m := in.finalist(heaviest)
		if m == nil {
			return members
		}
		m.doubt = 1
		members, doubted = append(members, m), 1
	}
	for _, m := range members {
		if m.misfit.any() {
			m.doubt *= q / doubted
		} else {
			m.doubt *= (1 - q) / trusted
		}
	}
	return members
}
