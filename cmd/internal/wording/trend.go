package wording

import (
	"fmt"
	"math"

	"conewright/ts/friction"
)

// Trend says how stiffness and force factor follow the level of the sweeps.
func Trend(t friction.Trend) string {
	span := fmt.Sprintf("From %s to %s V at the terminals at the resonance", number2(t.From), number2(t.To))
	if t.Travel[1] > 0 {
		span += fmt.Sprintf(", %s to %s mm to either side,", number2(1e3*t.Travel[0]), number2(1e3*t.Travel[1]))
	}
	return fmt.Sprintf("%s the stiffness %s, and the force factor %s.", span, slopeText(t, t.Stiffness), slopeText(t, t.ForceFactor))
}

// slopeText says how far a quantity moves over the levels of the trend, and how much that is for a volt or a millimetre.
func slopeText(t friction.Trend, s friction.Slope) string {
	over := t.To - t.From
	change := func(log float64) float64 { return 100 * math.Expm1(log) }
	low, high := change(over*(s.PerVolt-1.96*s.PerVoltStd)), change(over*(s.PerVolt+1.96*s.PerVoltStd))
	if low < 0 && high > 0 {
		return fmt.Sprintf("moves by no more than %s to %s %%", signed(low), signed(high))
	}
	each := fmt.Sprintf("%s %% for a volt", signed(change(s.PerVolt)))
	if s.PerMetre != 0 {
		each += fmt.Sprintf(", %s %% for a millimetre", signed(change(1e-3*s.PerMetre)))
	}
	return fmt.Sprintf("changes by %s %% (95 %%: %s to %s %%; %s)", signed(change(over*s.PerVolt)), signed(low), signed(high), each)
}

// signed writes two significant figures with their sign.
func signed(x float64) string {
	if x < 0 {
		return "-" + number2(-x)
	}
	return "+" + number2(x)
}
