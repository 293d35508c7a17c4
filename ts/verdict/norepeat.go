package verdict

import (
	"math"

	"conewright/ts/internal/session"
	"conewright/ts/internal/stat"
	"conewright/ts/param"
)

// NoRepeat is the code of the warning of [SweptOnce].
const NoRepeat = "no-repeat"

// SweptOnce is the warning for a judgement of drivers that were swept once in
// each condition. A fit alone does without: nothing is decided yet, and its
// budget shows that nothing is in it for repeats.
func SweptOnce() param.Warning {
	return param.Warning{Code: NoRepeat,
		Message: "swept once: the intervals hold the noise of the sweep and the stated errors of the bench, not what clamping again, warming up or a rested suspension would change",
		Hint:    "where it matters, take the driver off the bench, put it back and sweep again, two or three times, and fit all files together"}
}

// RestsOnOneSweep is said with a verdict that one sweep more might turn.
const RestsOnOneSweep = "This verdict rests on one sweep: if a second one differed as much as sweeps usually do, the answer could be another. Sweep again before relying on it."

// HoldsForOneSweep says whether the verdict would be the same if what usually
// changes from one sweep to the next were added to the uncertainty.
func (c *Checked) HoldsForOneSweep() bool {
	s := stat.Of(c.Parameters.Coverage)
	v := InSpec
	for _, j := range c.Checks {
		one := j.Verdict
		if i := c.Parameters.Index(j.Limit.ID); j.Known && i >= 0 {
			lo, hi := j.Limit.Scaled()
			u := c.Parameters.Guard(i).Plus(math.Sqrt(session.UsualRunVariance(j.Limit.ID, 1)))
			_, _, one = Decide(c.Parameters.Scaled[i], u, lo, hi, c.Spec.confidence(), s)
		}
		v = Worst(v, one)
	}
	return v == c.Verdict
}
