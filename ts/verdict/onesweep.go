package verdict

import (
	"math"

	"conewright/ts/internal/session"
	"conewright/ts/internal/stat"
)

// NoRepeat is the code of the notice for a judgement of drivers that were swept once in
// each condition. A fit alone does without: nothing is decided yet, and its budget shows
// that nothing is in it for repeats.
const NoRepeat = "no-repeat"

// HoldsForOneSweep says whether the verdict would be the same if what usually
// changes from one sweep to the next were added to the uncertainty.
func (c *Checked) HoldsForOneSweep() bool {
	if len(c.Withheld) > 0 {
		return true // it is undecided for another reason
	}
	s := stat.Of(c.Parameters.Coverage)
	v := InSpec
	for _, j := range c.Checks {
		one := j.Verdict
		if i := c.Parameters.Index(j.Limit.ID); j.Known && i >= 0 {
			lo, hi := j.Limit.Scaled()
			_, bars := c.Parameters.Guarded(i)
			bars = bars.Plus(math.Sqrt(session.UsualRunVariance(j.Limit.ID, 1)))
			_, _, one = Decide(c.Parameters.Scaled[i], bars, lo, hi, c.Spec.confidence(), s)
		}
		v = Worst(v, one)
	}
	return v == c.Verdict
}
