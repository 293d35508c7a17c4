package wording

import (
	"fmt"
	"math"

	"conewright/cmd/internal/quantity"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/ring"
)

// MassLine says in words what the experiment shows.
func MassLine(m *ring.MassLine) []string {
	say := []string{fmt.Sprintf("The straight line through %d points gives a moving mass of %s and a compliance of %s (95 %%: %s and %s).",
		len(m.Points), spreadText(param.Mms, m.Mms), spreadText(param.Cms, m.Cms), spreadRange(param.Mms, m.Mms), spreadRange(param.Cms, m.Cms))}
	joint, ok := m.Joint.Parameters.Get(param.Mms)
	if !ok {
		return say
	}
	jointly := ring.Spread{Value: joint.Value, Std: joint.Std, Low: joint.Low, High: joint.High}
	off := 100 * (m.Mms.Value/joint.Value - 1)
	switch {
	case m.Bends && off > 0:
		say = append(say, fmt.Sprintf("All sweeps in one fit give %s: the line is %.1f %% off, and to the side that a creeping suspension does not explain; a mass or a resonance may be wrong.", spreadText(param.Mms, jointly), off))
	case m.Bends:
		say = append(say, fmt.Sprintf("All sweeps in one fit give %s: the line is %.1f %% off, because it takes the suspension as equally stiff at every frequency.", spreadText(param.Mms, jointly), off))
	default:
		say = append(say, fmt.Sprintf("All sweeps in one fit give %s; the two agree.", spreadText(param.Mms, jointly)))
	}
	if creep, ok := m.Joint.Parameters.Get(param.Creep); ok && creep.Value > 3*creep.Std {
		say = append(say, fmt.Sprintf("The suspension creeps: for every decade of frequency downwards it gives way %.0f %% more, so each mass finds it a little softer than the one before.", 100*creep.Value))
	}
	return say
}

// gramsOn names what was on a cone.
func gramsOn(kg float64) string {
	if kg == 0 {
		return "nothing on the cone"
	}
	return grams(kg)
}

// spreadText writes the value of a spread in its bench unit as exactly as its
// uncertainty deserves, with four significant digits at most.
func spreadText(id param.ID, s ring.Spread) string {
	return valueText(id, s.Value, max(s.Std, 1e-4*math.Abs(s.Value)))
}

// spreadRange writes the 95 % interval of a spread: "14.0 to 14.4 g".
func spreadRange(id param.ID, s ring.Spread) string {
	unit := quantity.Screen(id)
	d := digits(s.Value/unit.Factor, max(s.Std, 1e-4*math.Abs(s.Value))/unit.Factor)
	return fmt.Sprintf("%.*f to %s", d, s.Low/unit.Factor, WithUnit(fmt.Sprintf("%.*f", d, s.High/unit.Factor), unit.Name))
}

// massLineSentences are the sentences about the straight line through several masses.
var massLineSentences = map[string]sentence{
	"line-load":  fixed("the sweep was taken on a box, which has no place on a mass line", "give sweeps in free air and with known masses only"),
	"line-falls": fixed("the resonance does not fall with the mass", "check which file belongs to which mass"),
	"line-no-convergence": fixed("no straight line fits the points: the slope does not settle",
		"check the masses and their uncertainties for a misplaced decimal point"),
	"line-point": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("point %d of the line has no usable value or uncertainty", n.Int("point")),
			"give every point a finite value and an uncertainty above zero in at least one direction"
	},
	"line-points": fixed("a straight line needs at least two different masses", "measure once more with another mass on the cone"),
	"masses-exchanged": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the resonance with %s is %s, above the %s with %s (%s), and a heavier cone must resonate lower",
				gramsOn(n.Num("heavy")), hertz(n.Num("high")), hertz(n.Num("low")), gramsOn(n.Num("light")), n.Text("light-sweep")),
			"the two were probably exchanged: check which file belongs to which mass"
	},
	"line-scatter": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the points lie farther from a straight line than their uncertainty allows (probability %.2g)", n.Num("probability")),
			"a suspension that creeps or warms up bends the line: rely on the fit of all sweeps together, and check each mass on the scales"
	},
	"line-differs": func(n notice.Notice) (string, string) {
		message := fmt.Sprintf("the line gives a moving mass of %.1f g, the fit of all sweeps together %.1f g", 1e3*n.Num("line"), 1e3*n.Num("joint"))
		if n.Num("line") > n.Num("joint") {
			return message, "a suspension that creeps makes the line read low, not high: check each mass on the scales, and repeat the sweep that lies farthest off the line"
		}
		return message, "the line takes the compliance as the same at every frequency; a suspension that creeps makes it read low: rely on the fit of all sweeps together"
	},
}
