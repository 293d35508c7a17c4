package wording

import (
	"fmt"
	"math"

	"conewright/ts/lot"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Paired says in plain sentences whether the pair matches, in what it differs
// and what would bring it closer.
func Paired(p *lot.Paired) []string {
	out := []string{explainVerdict(p)}
	for i, c := range p.Checks {
		if i != p.Worst && c.Verdict == p.Verdict && p.Verdict != verdict.InSpec {
			out = append(out, upperFirst(checkPhrase(c))+".")
		}
	}
	switch {
	case p.Verdict == verdict.InSpec && p.P >= 0.05:
		out = append(out, "The measurements do not tell the two apart at all.")
	case p.Verdict != verdict.InSpec && len(p.Fixes) == 0:
		out = append(out, "Neither a mass on one of them nor a softer suspension brings them noticeably closer: pair each with another unit.")
	}
	for _, f := range worthSaying(p) {
		out = append(out, explain(f))
	}
	return out
}

// worthSaying are the two best fixes; one that does not bring the pair within
// the limits is not worth its mass while another does.
func worthSaying(p *lot.Paired) []lot.PairFix {
	var within []lot.PairFix
	for _, f := range p.Fixes {
		if f.Within {
			within = append(within, f)
		}
	}
	if within == nil {
		within = p.Fixes
	}
	return within[:min(len(within), 2)]
}

func explainVerdict(p *lot.Paired) string {
	c := p.Deciding()
	switch p.Verdict {
	case verdict.InSpec:
		return fmt.Sprintf("The two match; nearest to its limit: %s.", checkPhrase(c))
	case verdict.OutOfSpec:
		return fmt.Sprintf("The two do not match: %s.", checkPhrase(c))
	}
	return fmt.Sprintf("Cannot tell yet whether the two match: %s.", checkPhrase(c))
}

// checkPhrase says how the two stand in one quantity.
func checkPhrase(c lot.PairCheck) string {
	id := c.Limit.ID
	if !c.Known {
		return fmt.Sprintf("%v is not known of both", id)
	}
	more := "higher"
	if c.Percent < 0 {
		more = "lower"
	}
	return fmt.Sprintf("%v of the right one is %s %s (95 %%: %s), the limit is %.3g %%",
		id, percentText(c.Percent, c.Low, c.High), more, percentRange(c.Low, c.High), c.Limit.Percent)
}

// explain says what to do, and what it costs.
func explain(f lot.PairFix) string {
	then := "that brings them closer, but not within the limits"
	if f.Within {
		then = "they should then be within the limits"
	}
	if f.What == lot.Soften {
		return fmt.Sprintf("A suspension %.0f %% softer in the %v one would help: run it in, with hearing protection, and measure again before changing the surround; %s.", f.Percent, f.Side, then)
	}
	mass := fmt.Sprintf("%.1f %% of its moving mass", f.Percent)
	if f.Mass > 0 {
		mass = valueText(param.Mms, f.Mass, 0)
	}
	text := fmt.Sprintf("A mass of %s on the %v one would help, fixed evenly around the coil so that the cone does not tilt; it costs %.1f dB above the resonance; %s.",
		mass, f.Side, math.Abs(f.Level), then)
	return text
}

// pairSentences are the sentences about pairs.
var pairSentences = map[string]sentence{
	"bad-pair-limit": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("a pair cannot be held to %v %% in %s", n.Num("percent"), n.Text("quantity")),
			"give a positive percentage for a quantity that is always positive, such as Fs"
	},
	"not-pairable": func(n notice.Notice) (string, string) {
		return fmt.Sprintf("%s is not known of this unit, and a pair is held to it", n.Text("quantity")), "leave that limit out, or measure what gives the value"
	},
}
