package change

import (
	"math"

	"conewright/ts/figure"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// nextForCompare proposes what would settle a tie of causes, and what the
// verdict still needs.
func nextForCompare(c *Compared) []verdict.Step {
	var steps []verdict.Step
	if len(c.Explanations) > 1 {
		steps = append(steps, stepForTie(c))
	}
	if c.Checked != nil {
		steps = append(steps, c.Checked.Next...)
	}
	return steps
}

// stepForTie proposes the measurement in which the explanations differ.
func stepForTie(c *Compared) verdict.Step {
	s := verdict.Step{Kind: verdict.DoAddedMass, ID: param.BL}
	fs, _ := c.After.Get(param.Fs)
	touchesMotor := false
	for _, cause := range c.Causes {
		switch cause.ID {
		case MotorWeaker, MotorStronger, CoilOffset, CoilDifferent, ShortedTurns:
			touchesMotor = true
		}
	}
	afterBL, beforeBL := c.After.Index(param.BL) >= 0, c.Before.Index(param.BL) >= 0
	target := figure.ValueText(param.Fs, fs.Value/math.Sqrt(1+verdict.MassShare), 0)
	switch {
	case touchesMotor && !afterBL && beforeBL:
		s.Do = "take a sweep after the repair with a mass on the cone, so much that Fs falls to about " + target
		s.Gain = "BL of both states is then known, which tells the motor from the moving system"
	case touchesMotor && !afterBL:
		s.Do = "take a sweep with a mass on the cone, so much that Fs falls to about " + target + ", of this driver and of a healthy sister unit (or compare with BL on the sheet)"
		s.Gain = "BL tells the motor from the moving system: the explanations differ in it"
	case touchesMotor && !beforeBL:
		s.Do = "compare BL with that of a healthy sister unit, or with the sheet"
		s.Gain = "the explanations differ in BL; the state before the repair can no longer be measured with a mass"
	case touchesMotor:
		s.Kind = verdict.DoWork
		s.Do = "check the rest height of the coil in the gap, by a depth gauge or against a sister unit"
		s.Gain = "BL is known already; what is left is whether the coil sits where it should"
	default:
		s.Kind = verdict.DoRepeat
		s.Do = "repeat the sweep a few times and give all of them"
		s.Gain = "a smaller uncertainty may leave only one of the explanations"
	}
	return s
}
