package wording

import (
	"cmp"
	"fmt"

	"conewright/cmd/internal/quantity"
	"conewright/ts/notice"
	"conewright/ts/verdict"
)

// Checked says in plain sentences how the driver stands to its spec sheet.
func Checked(c *verdict.Checked) []string {
	var out []string
	switch c.Verdict {
	case verdict.InSpec:
		out = append(out, explainIn(c))
	case verdict.OutOfSpec:
		for _, j := range c.Checks {
			if j.Verdict == verdict.OutOfSpec {
				out = append(out, explainOut(j))
			}
		}
	default:
		out = append(out, "Cannot tell yet whether it is in spec.")
		if len(c.Withheld) > 0 {
			out = append(out, "It is not sure that the sweep is of the driver alone; see the warnings.")
			break
		}
		for _, j := range c.Checks {
			if j.Verdict == verdict.Undecided {
				out = append(out, explainOpen(c, j))
			}
		}
	}
	for _, conflict := range c.Conflicts {
		out = append(out, "Note: "+conflictText(conflict)+".")
	}
	return out
}

func explainIn(c *verdict.Checked) string {
	j := c.Deciding()
	met := "the only limit is met"
	if n := len(c.Checks); n > 1 {
		met = fmt.Sprintf("all %d limits are met", n)
	}
	return fmt.Sprintf("In spec: %s; closest is %v, %s with a limit of %s (risk that it is out of spec after all: %s).",
		met, j.Limit.ID, valueText(j.Limit.ID, j.Estimate.Value, j.Estimate.Std), limitText(j.Limit), riskText(j.Risk()))
}

func explainOut(j verdict.Judged) string {
	id := j.Limit.ID
	side, edge := "above", j.Limit.Hi
	if j.Estimate.Value < j.Limit.Lo {
		side, edge = "below", j.Limit.Lo
	}
	return fmt.Sprintf("Out of spec: %v is %s, %s the limit of %s (risk that it is in spec after all: %s).",
		id, valueText(id, j.Estimate.Value, j.Estimate.Std), side, WithUnit(endText(id, edge), quantity.Screen(id).Name), riskText(j.Risk()))
}

func explainOpen(c *verdict.Checked, j verdict.Judged) string {
	id := j.Limit.ID
	if !j.Known {
		return fmt.Sprintf("%v has a limit (%s) but is not known: %s.", id, limitText(j.Limit), Missing(c, j))
	}
	if m := j.ByMeter; m != nil {
		return fmt.Sprintf("%v is %s by the sweep and %s with Re as the meter reads it, against %s: find out first which of the two is right.",
			id, valueText(id, j.Estimate.Value, j.Estimate.Std), valueText(id, m.Value, m.Std), limitText(j.Limit))
	}
	return fmt.Sprintf("%v is %s (95 %%: %s) against %s: too close to call, %s in spec; the sheet asks for a risk of at most %s at each limit.",
		id, valueText(id, j.Estimate.Value, j.Estimate.Std), rangeText(id, j.Estimate.Low, j.Estimate.High), limitText(j.Limit), chanceText(j.ProbabilityIn),
		riskText((1-cmp.Or(c.Spec.Confidence, 0.95))/2))
}

// riskText writes a small probability without promising more than it holds.
func riskText(p float64) string {
	switch {
	case p < 0.001:
		return "below 0.1 %"
	case p < 0.1:
		return fmt.Sprintf("%.1f %%", 100*p)
	}
	return fmt.Sprintf("%.0f %%", 100*p)
}

// chanceText writes a probability that may be anything from 0 to 1.
func chanceText(p float64) string {
	switch {
	case p < 0.01:
		return "less than 1 % likely"
	case p > 0.99:
		return "more than 99 % likely"
	}
	return fmt.Sprintf("%.0f %% likely", 100*p)
}

// Missing says why the data cannot give a value that the sheet limits; "" where they do.
func Missing(c *verdict.Checked, j verdict.Judged) string {
	switch j.Missing {
	case verdict.NeedsMounting:
		return fmt.Sprintf("it was measured in %v and is wanted for %v: to convert it takes the moving mass (a sweep with an added mass) and the diameter of the cone",
			c.Parameters.Mounting, c.Spec.Mounting)
	case verdict.NeedsMassAndArea:
		return "it needs a sweep with an added mass and the diameter of the cone"
	case verdict.NeedsArea:
		return "it needs the diameter of the cone"
	case verdict.NeedsMass:
		return "a sweep with nothing on the cone cannot give it"
	case verdict.NeedsHarmonics:
		return "it needs a recording of an exponential sweep in free air, such as conewright signal writes"
	case verdict.NeedsVolts:
		return "it needs the full scale of the inputs in volts (--full-scale)"
	case verdict.NeedsSweep:
		return "the sweeps given do not hold it"
	}
	return ""
}

// conflictText says what contradicts what.
func conflictText(c verdict.Conflict) string {
	var others []string
	for _, id := range c.Others() {
		others = append(others, id.String())
	}
	if !c.Pinned() {
		return fmt.Sprintf("the spec sheet contradicts itself: %s cannot all be met", List(append(others, c.Of.String())))
	}
	return fmt.Sprintf("the spec sheet contradicts itself: its %s put %v at %s, outside its own limits",
		List(others), c.Of, rangeText(c.Of, c.Lo, c.Hi))
}

// sheetSentences are the sentences about spec sheets and what is judged by them.
var sheetSentences = map[string]sentence{
	"no-limits": fixed("the spec sheet holds no limits", "give at least one, for instance Fs with its tolerance"),
	"bad-limit": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("the limits of %s, %v to %v, leave no value between them", n.Text("quantity"), n.Num("lower"), n.Num("upper")),
			"the lower limit must lie below the upper one"
	},
	"limit-twice": func(n notice.Notice) (string, string) {
		return n.Text("quantity") + " is limited twice", "keep one of the two limits"
	},
	"spec-contradicts-itself": func(n notice.Notice) (string, string) {
		return conflictText(fact[verdict.Conflict](n, "conflict")),
			"check the sheet for a misprint or for values of different units; no driver can meet all of these limits"
	},
	"mounting-differs": func(n notice.Notice) (string, string) {
		if n.Has("before") {
			return fmt.Sprintf("one sweep was taken in %s, the other in %s: the air that moves with the cone differs, and so do Fs and the Qs", n.Text("before"), n.Text("after")),
				"take both sweeps in the same mounting, or give the diameter of the cone and a sweep with an added mass"
		}
		return fmt.Sprintf("the sweep was taken in %s, the values are wanted for %s; the air that moves with the cone differs", n.Text("measured"), n.Text("wanted")),
			fmt.Sprintf("measure in %s, or give the diameter and a sweep with an added mass so that it can be converted", n.Text("wanted"))
	},
}
