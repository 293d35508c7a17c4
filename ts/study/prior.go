package study

import (
	"math"

	"conewright/ts/internal/stat"
	"conewright/ts/notice"
)

// compareWithPriors fills in how well the data agree with each prior: the mean
// square of the level over the one that is expected with the variance of the prior,
//
//	ratio = MS/( v_last + sum over inner levels of expect v + expect s0^2 )
//
// against Fisher's distribution, the denominator by Welch and Satterthwaite. For the
// readings it is s^2/s0^2 on d and nu0 degrees of freedom.
//
// Source: textbook for one level; with inner levels derived. Theory (8.9).
func (n *Nested) compareWithPriors() {
	last := len(n.Components) - 1
	for k := range n.Components {
		c := &n.Components[k]
		if c.Freedom == 0 || c.Prior.Dof == 0 {
			continue
		}
		predicted := c.Prior
		if k < last {
			expect := n.data.basis[k].expect
			terms := []Term{{"", math.Sqrt(expect[k] * c.Prior.Variance), c.Prior.Dof}, {"", n.Components[last].Std(), n.Components[last].Dof}}
			for l := k + 1; l < last; l++ {
				inner := n.Components[l]
				terms = append(terms, Term{"", math.Sqrt(expect[l] * inner.Variance), inner.Dof})
			}
			predicted = Combine(terms...)
		}
		c.PriorRatio = c.MeanSquare / predicted.Variance
		below, above := stat.FisherTails(c.PriorRatio, float64(c.Freedom), predicted.Dof)
		c.Agreement = math.Min(1, 2*math.Min(below, above))
		if c.Agreement < 0.05 {
			n.Notices = append(n.Notices, *notice.New("prior-in-conflict", notice.Facts{
				"level": c.Level, "ratio": c.PriorRatio, "probability": c.Agreement, "std": math.Sqrt(c.Prior.Variance)}))
		}
	}
}
