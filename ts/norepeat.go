package ts

import "math"

// NoRepeat is the code of the warning of [SweptOnce].
const NoRepeat = "no-repeat"

// SweptOnce is the warning for a judgement of drivers that were swept once in
// each condition. A fit alone does without: nothing is decided yet, and its
// budget shows that nothing is in it for repeats.
func SweptOnce() Warning {
	return Warning{Code: NoRepeat,
		Message: "swept once: the intervals hold the noise of the sweep and the stated errors of the bench, not what clamping again, warming up or a rested suspension would change",
		Hint:    "where it matters, take the driver off the bench, put it back and sweep again, two or three times, and fit all files together"}
}

// RestsOnOneSweep is said with a verdict that one sweep more might turn.
const RestsOnOneSweep = "This verdict rests on one sweep: if a second one differed as much as sweeps usually do, the answer could be another. Sweep again before relying on it."

// HoldsForOneSweep says whether the verdict would be the same if what usually
// changes from one sweep to the next were added to the uncertainty.
func (c *Checked) HoldsForOneSweep() bool {
	s := spreadOf(c.Parameters.Coverage)
	v := InSpec
	for _, j := range c.Checks {
		one := j.Verdict
		if i := c.Parameters.Index(j.Limit.ID); j.Known && i >= 0 {
			lo, hi := j.Limit.scaled()
			u := c.Parameters.guard(i).plus(math.Sqrt(usualRunVariance(j.Limit.ID, 1)))
			_, _, one = decide(c.Parameters.Scaled[i], u, lo, hi, c.Spec.confidence(), s)
		}
		v = worst(v, one)
	}
	return v == c.Verdict
}

// HoldsForOneSweep is the same for a pair of which each driver was swept once.
func (p *Paired) HoldsForOneSweep() bool {
	v := InSpec
	for _, c := range p.Checks {
		one := c.Verdict
		if c.Known {
			u := math.Hypot(c.std, math.Sqrt(2*usualRunVariance(c.Limit.ID, 1)))
			_, _, one = decide(c.difference, bars{u, u}, -c.Limit.scaled(), c.Limit.scaled(), p.confidence, p.spread)
		}
		v = worst(v, one)
	}
	return v == p.Verdict
}
