package wording

import (
	"fmt"
	"math"

	"conewright/ts/figure"
	"conewright/ts/param"
	"conewright/ts/ring"
)

// Explain says in words what the experiment shows.
func SayMassLine(m *ring.MassLine) []string {
	say := []string{fmt.Sprintf("The straight line through %d points gives a moving mass of %s and a compliance of %s (95 %%: %s and %s).",
		len(m.Points), spreadText(param.Mms, m.Mms), spreadText(param.Cms, m.Cms), spreadRange(param.Mms, m.Mms), spreadRange(param.Cms, m.Cms))}
	joint, ok := m.Joint.Parameters.Get(param.Mms)
	if !ok {
		return say
	}
	jointly := param.Spread{Value: joint.Value, Std: joint.Std, Low: joint.Low, High: joint.High}
	off := 100 * (m.Mms.Value/joint.Value - 1)
	if m.Bends {
		say = append(say, fmt.Sprintf("All sweeps in one fit give %s: the line is %.1f %% off, because it takes the suspension as equally stiff at every frequency.", spreadText(param.Mms, jointly), off))
	} else {
		say = append(say, fmt.Sprintf("All sweeps in one fit give %s; the two agree.", spreadText(param.Mms, jointly)))
	}
	if creep, ok := m.Joint.Parameters.Get(param.Creep); ok && creep.Value > 3*creep.Std {
		say = append(say, fmt.Sprintf("The suspension creeps: for every decade of frequency downwards it gives way %.0f %% more, so each mass finds it a little softer than the one before.", 100*creep.Value))
	}
	return say
}

// spreadText writes the value of a spread in its bench unit as exactly as its
// uncertainty deserves, with four significant digits at most.
func spreadText(id param.ParamID, s param.Spread) string {
	return figure.ValueText(id, s.Value, max(s.Std, 1e-4*math.Abs(s.Value)))
}

// spreadRange writes the 95 % interval of a spread: "14.0 to 14.4 g".
func spreadRange(id param.ParamID, s param.Spread) string {
	info := id.Info()
	d := figure.Digits(s.Value/info.PerBench, max(s.Std, 1e-4*math.Abs(s.Value))/info.PerBench)
	return fmt.Sprintf("%.*f to %s", d, s.Low/info.PerBench, figure.WithUnit(fmt.Sprintf("%.*f", d, s.High/info.PerBench), info.BenchUnit))
}
