package wording

import (
	"fmt"
	"strings"

	"conewright/ts/change"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/repeat"
	"conewright/ts/verdict"
)

// Step is a step in words: what to do, and what it would bring.
type Step struct {
	Kind verdict.StepKind `json:"kind"`
	Do   string           `json:"do"`
	Gain string           `json:"gain"`
}

// Steps says what would bring a verdict further.
func Steps(steps []verdict.Step) []Step {
	var out []Step
	for _, s := range steps {
		var gains []string
		for _, g := range s.Gains {
			gains = append(gains, gainText(s.Kind, g))
		}
		out = append(out, Step{s.Kind, actionText(s), strings.Join(gains, "; ")})
	}
	return out
}

// actionText says what to do.
func actionText(s verdict.Step) string {
	switch s.Kind {
	case verdict.DoRepeat:
		times := map[int]string{1: "once more and give both", 3: "three times more and give all of them", 7: "seven times more and give all of them"}[s.Times]
		return map[repeat.Kind]string{
			repeat.Again:     "repeat the sweep " + times,
			repeat.Reclamped: "take the driver off, put it back and sweep, " + times + " with --repeat re-clamped",
			repeat.Session:   "sweep the driver on another day, " + times + " with --repeat session",
		}[s.Between]
	case verdict.DoFiner:
		times := map[int]string{2: "twice", 4: "four times", 8: "eight times"}[s.Times]
		return fmt.Sprintf("take one sweep with %s as many points, or %s as long", times, times)
	case verdict.DoMeter:
		return "read Re with an ohm meter, leads nulled, driver at rest and at room temperature, and give it as the direct-current resistance"
	case verdict.DoSettle:
		return "read the meter again, leads nulled and driver at rest, and check the value of the resistor, the wiring and the leads: meter and sweep cannot both be right"
	case verdict.DoAddedMass:
		return addedMassText(s.Action)
	case verdict.DoDiameter:
		return "measure the diameter of the cone from the middle of the surround to the middle of the opposite surround"
	case verdict.DoMounting:
		return fmt.Sprintf("measure in %v, as the spec sheet does, or add a sweep with a mass on the cone and give its diameter", s.Mounting)
	case verdict.DoBench:
		if strings.HasPrefix(s.Source, measured.ChannelSource) {
			return "record both inputs on one point once, the amplifier's output, and give that recording to conewright calibrate --channels: it takes out the difference of the inputs, which now makes most of the uncertainty"
		}
		return "halve the uncertainty of the " + s.Source + ", which now makes most of it"
	case verdict.DoBand:
		if s.ForCoil {
			return "take a sweep up to 2 kHz or more, so that the model of the coil is settled"
		}
		return "measure over a wider band"
	case verdict.DoHarmonics:
		return "record an exponential sweep in free air, such as conewright signal writes, and give the full scale of the inputs (--full-scale)"
	case verdict.DoLevel:
		return "sweep once more at another level, at 0.1 to 0.3 V and with the inputs well used, and give both sweeps"
	case verdict.DoAccept:
		return fmt.Sprintf("settle by agreement whether this %v is acceptable", s.Gains[0].ID)
	}
	return string(s.Kind)
}

// addedMassText says how much mass to put on the cone.
func addedMassText(a verdict.Action) string {
	if a.Fs == 0 {
		return "repeat the sweep with an added mass on the cone"
	}
	from, to := valueText(param.Fs, a.Fs, a.FsStd), valueText(param.Fs, a.FsThen, 0)
	if a.Mass == 0 {
		return fmt.Sprintf("repeat the sweep with so much mass on the cone that Fs falls from %s to about %s", from, to)
	}
	source := map[param.ID]string{param.Mms: "mass", param.Cms: "compliance"}[a.MassFrom]
	switch {
	case !a.FromSheet:
		source += " found so far"
	case source == "":
		source = a.MassFrom.String() + " on the spec sheet"
	default:
		source += " on the spec sheet"
	}
	return fmt.Sprintf("repeat the sweep with %s on the cone, weighed together with its putty; by the %s Fs should fall from %s to about %s",
		valueText(param.Mms, a.Mass, 0), source, from, to)
}

// gainText says what a step would bring for one value.
func gainText(kind verdict.StepKind, g verdict.Gain) string {
	percent := func(x float64) string { return fmt.Sprintf("%.2g %%", 100*x) }
	switch {
	case g.Now == 0 && g.Then == 0:
		return g.ID.String() + " can be judged"
	case g.Now == 0:
		return fmt.Sprintf("%v can be judged, to about %.1f %%", g.ID, 100*g.Then)
	case kind == verdict.DoAccept:
		return fmt.Sprintf("the value lies so near its limit that no step on this bench will decide; the best would reach %s (standard uncertainty)", percent(g.Then))
	case g.Decides:
		return fmt.Sprintf("%v from %s to %s (standard uncertainty): enough to decide if the value stays", g.ID, percent(g.Now), percent(g.Then))
	}
	return fmt.Sprintf("%v from %s to %s (standard uncertainty); to decide at this value takes %s", g.ID, percent(g.Now), percent(g.Then), percent(g.Need))
}

// Next says what would settle a comparison: a tie of explanations first, then what is
// still open about the sheet.
func Next(c *change.Compared) []Step {
	var out []Step
	if c.Tie != nil {
		out = append(out, tieText(*c.Tie))
	}
	if c.Checked != nil {
		out = append(out, Steps(c.Checked.Next)...)
	}
	return out
}

// tieText says what would tell explanations apart.
func tieText(t change.Tie) Step {
	target := valueText(param.Fs, t.FsThen, 0)
	switch t.Way {
	case change.MeasureBL:
		return Step{verdict.DoAddedMass, "take a sweep after the repair with a mass on the cone, so much that Fs falls to about " + target,
			"BL of both states is then known, which tells the motor from the moving system"}
	case change.MeasureBLTwice:
		return Step{verdict.DoAddedMass, "take a sweep with a mass on the cone, so much that Fs falls to about " + target + ", of this driver and of a healthy sister unit (or compare with BL on the sheet)",
			"BL tells the motor from the moving system: the explanations differ in it"}
	case change.CompareBL:
		return Step{verdict.DoAddedMass, "compare BL with that of a healthy sister unit, or with the sheet",
			"the explanations differ in BL; the state before the repair can no longer be measured with a mass"}
	case change.CoilHeight:
		return Step{verdict.DoWork, "check the rest height of the coil in the gap, by a depth gauge or against a sister unit",
			"BL is known already; what is left is whether the coil sits where it should"}
	}
	return Step{verdict.DoRepeat, "sweep the driver a few times more, each time taken off and put back, and give all of them with --repeat re-clamped", "a smaller uncertainty may leave only one of the explanations"}
}
