package ts

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/floats"
)

// suspect gives the members the doubt of a misfit that the residuals hint at.
// The values follow it with its weight p, under odds of beliefCost against it;
// the uncertainty takes it with the weight q, under odds of doubtCost. With the
// shift d that the misfit would bring, the mean square about the values is
// (1-q)(p d)^2 + q ((1-p) d)^2; the spread of the members holds p (1-p) d^2 of
// it, and (q-p)(1-2p) d^2 are added here, with q-p of what the misfit would
// leave uncertain itself. theory (4.12), docs/decisions/0016.
func (in *input) suspect(members []*member, all []*candidate) {
	var p float64
	for _, c := range all {
		if c.misfit.any() {
			p += c.weight
		}
	}
	i := slices.IndexFunc(members, func(m *member) bool { return !m.misfit.any() })
	if i < 0 || p >= 0.5 {
		return
	}
	trusted := members[i]
	// A driver has a coil or not; values are compared within one kind.
	i = slices.IndexFunc(all, func(c *candidate) bool {
		return c.misfit.any() && (c.prob.lay.coils == 0) == (trusted.prob.lay.coils == 0)
	})
	if i < 0 {
		return
	}
	doubted := in.doubtedMember(all[i], members)
	if doubted == nil {
		return
	}
	odds := p / (1 - p) * math.Exp(beliefCost-doubtCost)
	q := odds / (1 + odds)
	here := trusted.derived.values
	shift := make([]float64, len(here))
	for i, v := range doubted.derived.values {
		shift[i] = math.Sqrt((q-p)*(1-2*p)) * (v.v - here[i].v)
	}
	effects := []Component{{Source: "suspected misfit", Part: ModelPart, Own: true, Effect: shift}}
	for _, c := range doubted.effects {
		if c.Part == ModelPart {
			effect := slices.Clone(c.Effect)
			floats.Scale(math.Sqrt(q-p), effect)
			effects = append(effects, Component{Source: "suspected " + c.Source, Part: c.Part, Own: c.Own, Effect: effect})
		}
	}
	for _, m := range members {
		m.effects = append(m.effects, effects...)
	}
}

// doubtedMember returns the member that the candidate has become, or fits it where
// it was too light to become one.
func (in *input) doubtedMember(c *candidate, members []*member) *member {
	for _, m := range members {
		if m.misfit.any() && m.prob.form == c.prob.form {
			return m
		}
	}
	return in.finalist(c)
}
