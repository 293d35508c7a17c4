package ts

import (
	"fmt"
	"math"
)

// Explain says in words what the experiment shows.
func (m *MassLine) Explain() []string {
	say := []string{fmt.Sprintf("The straight line through %d points gives a moving mass of %s and a compliance of %s (95 %%: %s and %s).",
		len(m.Points), spreadText(Mms, m.Mms), spreadText(Cms, m.Cms), spreadRange(Mms, m.Mms), spreadRange(Cms, m.Cms))}
	joint, ok := m.Joint.Parameters.Get(Mms)
	if !ok {
		return say
	}
	jointly := Spread{joint.Value, joint.Std, joint.Low, joint.High}
	off := 100 * (m.Mms.Value/joint.Value - 1)
	if m.Bends {
		say = append(say, fmt.Sprintf("All sweeps in one fit give %s: the line is %.1f %% off, because it takes the suspension as equally stiff at every frequency.", spreadText(Mms, jointly), off))
	} else {
		say = append(say, fmt.Sprintf("All sweeps in one fit give %s; the two agree.", spreadText(Mms, jointly)))
	}
	if creep, ok := m.Joint.Parameters.Get(Creep); ok && creep.Value > 3*creep.Std {
		say = append(say, fmt.Sprintf("The suspension creeps: for every decade of frequency downwards it gives way %.0f %% more, so each mass finds it a little softer than the one before.", 100*creep.Value))
	}
	return say
}

// spreadText writes the value of a spread in its bench unit as exactly as its
// uncertainty deserves, with four significant digits at most.
func spreadText(id ParamID, s Spread) string {
	return valueText(id, s.Value, max(s.Std, 1e-4*math.Abs(s.Value)))
}

// spreadRange writes the 95 % interval of a spread: "14.0 to 14.4 g".
func spreadRange(id ParamID, s Spread) string {
	info := id.Info()
	d := digits(s.Value/info.PerBench, max(s.Std, 1e-4*math.Abs(s.Value))/info.PerBench)
	return fmt.Sprintf("%.*f to %s", d, s.Low/info.PerBench, withUnit(fmt.Sprintf("%.*f", d, s.High/info.PerBench), info.BenchUnit))
}
