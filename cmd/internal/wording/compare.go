package wording

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"conewright/ts/change"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// adviceFrom is the probability from which an explanation is worth advice: what
// helps against a less likely one would send the reader the wrong way.
const adviceFrom = 0.25

// Compared says in plain sentences what the repair changed and why, how the
// driver now stands to its spec sheet, and what to do about it. The leading
// explanation comes first and in full, the others follow in a line each.
func Compared(c *change.Compared) []string {
	out := []string{explainLead(c)}
	if c.Checked != nil {
		out = append(out, Checked(c.Checked)...)
	} else if fs, ok := c.Change(param.Fs); ok && fs.Changed() {
		out = append(out, explainFs(c))
	}
	if len(c.Withheld) > 0 {
		return out
	}
	others := c.Explanations[1:]
	for i, e := range others {
		if i == mostOthers && len(others) > mostOthers+1 { // one alone is better named than counted
			out = append(out, fmt.Sprintf("And %d more, each %s or less.", len(others)-i, chanceText(e.Probability)))
			break
		}
		out = append(out, fmt.Sprintf("Not ruled out: %s (%s).", phrase(e), chanceText(e.Probability)))
	}
	if len(c.Explanations) > 1 {
		out = append(out, "These percentages include how common each cause is after a repair; where readings fit the sweeps equally well, nothing else separates them.")
	}
	if c.RestsOnBL() {
		out = append(out, nullText(c.Null))
	}
	if c.Split != nil {
		out = append(out, Split(c.Split)...)
	}
	return append(out, advice(c)...)
}

// mostOthers is how many explanations are named beside the leading one; the JSON
// holds all.
const mostOthers = 3

// plainlySaid is the probability from which an explanation that stands alone is
// said without it.
const plainlySaid = 0.95

// explainLead says what changed by the leading explanation, and what did not.
func explainLead(c *change.Compared) string {
	e := c.Explanations[0]
	switch {
	case len(c.Withheld) > 0:
		return "No cause is named as long as it is not sure that both sweeps are of the driver alone; see the warnings."
	case c.Unexplained:
		return "The change does not fit any combination of known causes; the nearest is that " + phrase(e) + "."
	case e.Causes[0].ID == change.NoChange:
		return noChange(c)
	}
	text := phrase(e)
	if same := unchanged(c, e); same != "" {
		text += "; " + same
	}
	switch {
	case len(c.Explanations) == 1 && e.Probability >= plainlySaid:
		return upperFirst(text) + "."
	case len(c.Explanations) == 1: // the others are each too improbable to be named
		return fmt.Sprintf("%s (%s).", upperFirst(text), chanceText(e.Probability))
	case e.Probability >= 0.6:
		return fmt.Sprintf("Most likely %s (%s).", text, chanceText(e.Probability))
	}
	return fmt.Sprintf("These sweeps allow several readings. The first: %s (%s).", text, chanceText(e.Probability))
}

// noChange says that no cause is needed, and what differs for all that.
func noChange(c *change.Compared) string {
	for _, id := range []param.ID{param.Fs, param.Qms, param.Re, param.Qes} {
		if ch, ok := c.Change(id); ok && ch.Changed() {
			return fmt.Sprintf("No change that needs a cause, though %v differs by %+.1f %% (%+.1f to %+.1f): that is rare between two sessions, but not rare enough on a bench known so little. Sweep again on another day before relying on it.",
				id, ch.Percent(), 100*(ch.Low-1), 100*(ch.High-1))
		}
	}
	return "No change beyond the uncertainty, which holds what two sessions normally differ by."
}

func explainFs(c *change.Compared) string {
	before, _ := c.Before.Get(param.Fs)
	after, _ := c.After.Get(param.Fs)
	return fmt.Sprintf("Fs goes from %s to %s.", valueText(param.Fs, before.Value, before.Std), valueText(param.Fs, after.Value, after.Std))
}

// phrase joins the causes of one explanation.
func phrase(e change.Explanation) string {
	var parts []string
	for _, cause := range e.Causes {
		parts = append(parts, Cause(cause))
	}
	return List(parts)
}

// Cause says what one cause means, with its size and 95 % interval.
func Cause(c change.Cause) string {
	format, ok := phrases[c.ID]
	if c.ID == change.SeriesResistance && c.Percent < 0 {
		format = "a resistance in series has gone: Re down by %s"
	}
	if !ok {
		return "no change"
	}
	return fmt.Sprintf(format, percentText(c.Percent, c.Low, c.High)) + " (" + percentRange(c.Low, c.High) + ")"
}

var phrases = map[change.CauseID]string{
	change.SuspensionStiffer: "the suspension is %s stiffer",
	change.SuspensionSofter:  "the suspension is %s softer",
	change.MassAdded:         "the moving mass is %s higher",
	change.MassMissing:       "the moving mass is %s lower",
	change.LossesUp:          "the mechanical losses are %s higher",
	change.LossesDown:        "the mechanical losses are %s lower",
	change.MotorWeaker:       "the motor is weaker: BL down by %s",
	change.MotorStronger:     "the motor is stronger: BL up by %s",
	change.CoilDifferent:     "the coil is a different one: Re off by %s",
	change.ShortedTurns:      "turns of the coil are shorted: %s of the winding",
	change.CoilOffset:        "the coil is off its rest position: BL down by %s",
	change.SeriesResistance:  "there is a resistance in series: Re up by %s",
	change.FrictionMore:      "the coil rubs, or there is glue or dust in the gap: by the harmonics of the current that adds %s to the mechanical losses at this level",
	change.FrictionLess:      "the coil does not rub any more: by the harmonics of the current that takes %s off the mechanical losses at this level",
	change.MassNotAsStated:   "the driver is as before, but an added mass was not as stated: off by %s",
}

// unchangedWithin is the half-width, in percent, up to which a change that does
// not differ from none is simply called unchanged.
const unchangedWithin = 3

// unchanged names what an explanation leaves alone: "moving mass unchanged".
func unchanged(c *change.Compared, e change.Explanation) string {
	touched := map[param.ID]bool{}
	for _, cause := range e.Causes {
		for _, id := range subjects[cause.ID] {
			touched[id] = true
		}
	}
	var same, about []string
	for _, row := range []struct {
		id   param.ID
		name string
	}{{param.Cms, "compliance"}, {param.Mms, "moving mass"}, {param.Rms, "mechanical losses"}, {param.BL, "BL"}, {param.Re, "Re"}} {
		ch, ok := c.Change(row.id)
		if !ok || touched[row.id] {
			continue
		}
		switch within := 100 * math.Max(math.Abs(ch.Low-1), math.Abs(ch.High-1)); {
		case within <= unchangedWithin:
			same = append(same, row.name)
		case ch.Changed():
			about = append(about, fmt.Sprintf("%s %+.0f %%, too uncertain to name a cause for it", row.name, ch.Percent()))
		default:
			about = append(about, fmt.Sprintf("%s the same within %.0f %%", row.name, within))
		}
	}
	if len(same) > 0 {
		about = append([]string{List(same) + " unchanged"}, about...)
	}
	return strings.Join(about, ", ")
}

// subjects names the quantities that a cause is about.
var subjects = map[change.CauseID][]param.ID{
	change.SuspensionStiffer: {param.Cms}, change.SuspensionSofter: {param.Cms}, change.MassAdded: {param.Mms}, change.MassMissing: {param.Mms}, change.LossesUp: {param.Rms}, change.LossesDown: {param.Rms},
	change.MotorWeaker: {param.BL, param.Mms, param.Cms, param.Rms}, change.MotorStronger: {param.BL, param.Mms, param.Cms, param.Rms}, change.CoilOffset: {param.BL, param.Mms, param.Cms, param.Rms},
	change.CoilDifferent: {param.Re, param.BL, param.Mms, param.Cms, param.Rms}, change.ShortedTurns: {param.Re, param.BL, param.Mms, param.Cms, param.Rms}, change.SeriesResistance: {param.Re},
	change.FrictionMore: {param.Rms, param.Cms}, change.FrictionLess: {param.Rms, param.Cms},
	change.MassNotAsStated: {param.BL, param.Mms, param.Cms, param.Rms},
}

// advice says what to do about the leading explanation, and about others that
// are nearly as likely; it warns where a step could do harm.
func advice(c *change.Compared) []string {
	if c.Unexplained {
		return nil // it would be advice on a guess
	}
	var out []string
	for i, e := range c.Explanations {
		if i > 0 && e.Probability < adviceFrom {
			break
		}
		for _, cause := range e.Causes {
			text := remedies[cause.ID]
			if cause.ID == change.SuspensionStiffer && c.Verdict() == verdict.InSpec {
				text = "Stiffness falls as the surround runs in; expect the resonance to settle lower."
			}
			if cause.ID == change.LossesUp && c.Friction.Free {
				text = "The harmonics show no rub: the losses are those of the new material or of its glue."
			}
			if text != "" && !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}

// remedies holds what a practitioner would do about each cause. Common practice
// throughout: run-in, rub tests and shims are what repair guides describe.
var remedies = map[change.CauseID]string{
	change.SuspensionStiffer: "Run it in (at Fs or 20 to 30 Hz, a quarter to half of its rated travel, then an hour of rest) and measure again; if it stays, the part is wrong or was glued under tension. Stay within the rated travel and stop when the coil gets hot.",
	change.SuspensionSofter:  "Look for a tear, a glue joint that has let go, or a spider that has gone soft; check that the cone does not sag and that the coil sits centred. If all is sound, the new surround is softer than the old one. Keep the level low until then: a loose suspension lets the coil leave the gap.",
	change.MassAdded:         "Look for too much glue, a heavier surround or a dust cap that was changed; weigh a new part against the old one.",
	change.MassMissing:       "Look for a missing mass ring, dust cap or a lighter surround.",
	change.LossesUp:          "Push the cone gently by hand and listen for a rub, and repeat the sweep at half and at twice the level: losses that rise as the level falls are a rubbing coil, losses that stay are the new material. Centre the coil before driving it hard: a rub wears through the insulation.",
	change.LossesDown:        "Less loss is usual for a foam edge in place of rubber, or for an old edge that had come unglued before.",
	change.MotorWeaker:       "A new surround does not weaken a magnet: check first that the coil sits in the gap at its old height, then for a knocked or overheated magnet. Mind the fingers and steel tools when a magnet is opened.",
	change.MotorStronger:     "A new surround does not strengthen a motor: check that the coil now sits in the gap at its proper height, and that both sweeps belong to the same driver.",
	change.CoilDifferent:     "The coil is not the one that was measured before: check the part, and that both sweeps belong to the same driver.",
	change.ShortedTurns:      "Shorted turns do not heal: the coil has to be replaced. Do not drive it hard; it heats at the fault.",
	change.CoilOffset:        "Check the rest height of the coil in the gap; shim the coil and set the surround again while the glue allows; glue and its solvents need fresh air and no flame. Keep the level low until then: the coil leaves the gap early on one side.",
	change.FrictionMore:      frictionRemedy,
	change.MassNotAsStated:   "Weigh the mass again together with its putty or tape, set it firmly in the middle, and repeat the sweep with it. If the mass is right, look whether the axis was horizontal: a coil that sags under the mass or the cone moves BL and Mms in the same way.",
	change.SeriesResistance:  "Check clips, leads and solder joints and measure again: a contact in series is a fault of the wiring, not of the driver.",
}

// nullText says what the test of an unchanged coil found.
func nullText(n change.NullTest) string {
	coil, as := "Re", "is as before"
	if n.DoF > 1 {
		coil, as = "Re and the inductance of the coil", "are as before"
	}
	if n.Rejected() {
		return "This takes BL as unchanged, but " + coil + " changed, which a new surround does not do: treat the split with care."
	}
	return "This takes BL as unchanged; " + coil + " " + as + ", which supports it but does not prove it."
}

// changeSentences are the sentences about comparisons.
var changeSentences = map[string]sentence{
	"not-comparable": fixed("a comparison needs Re, Fs, Qms and Qes of both drivers", "fit both sweeps with a band that holds the resonance"),
	"bad-friction": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("friction cannot be the parts %v and %v of the losses", n.Num("before"), n.Num("after")), "give each from 0 to 1"
	},
	"bad-level": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the levels cannot have the ratio %v", n.Num("ratio")), "leave it out where it is not known"
	},
	"change-unexplained": fixed("no combination of the known causes explains the change within the uncertainty",
		"check that both sweeps were taken in the same way (level, mounting, wiring), then look at the residuals of the fits"),
	"motor-not-unchanged": func(n notice.Notice) (string, string) {
		return nullText(fact[change.NullTest](n, "test")), "sweeps with an added mass, before and after, do without that assumption"
	},
}

func upperFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
