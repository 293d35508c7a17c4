package report

import (
	"fmt"
	"strings"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/change"
	"conewright/ts/lot"
	"conewright/ts/verdict"
)

// Pair reports whether two drivers match; the sides are left and right.
func Pair(job Job, sides []Side, p *lot.Paired) *Report {
	r := newReport(job, "pair", sides...)
	r.Title = fmt.Sprintf("%s and %s as a pair", subject(job.Inputs, "left"), subject(job.Inputs, "right"))
	r.Paired = p
	r.Judged, r.Verdict = true, p.Verdict
	r.Headline = pairHeadline(p)
	r.Body = wording.Paired(p)
	r.warnAssumed(sides)
	r.Tables = append(r.Tables, pairTable(p), sidesTable(p, job.All))
	r.warn(wording.Notices(p.Warnings))
	return r
}

// pairHeadline says the verdict, and for which quantities if it is not good.
func pairHeadline(p *lot.Paired) string {
	if p.Verdict == verdict.InSpec {
		return "A PAIR"
	}
	var which []string
	for _, c := range p.Checks {
		if c.Verdict == p.Verdict {
			which = append(which, c.Limit.ID.String())
		}
	}
	head := "NO PAIR"
	if p.Verdict == verdict.Undecided {
		head = strings.ToUpper(pairWords(p.Verdict))
	}
	return head + ": " + wording.List(which)
}

// pairTable lists the differences against their limits.
func pairTable(p *lot.Paired) Table {
	t := Table{Title: "Against the limits of a pair", Columns: []Column{{"", Left}, {"right over left", Point}, {"95 % interval", Right}, {"limit", Right}, {"chance of being in", Right}, {"verdict", Left}},
		Note: fmt.Sprintf("The chance that all limits are met at once is %s; the mismatch is %s (0 equal, 2 one quantity at its limit).",
			probability(p.Together, true), fixed(p.Distance, 2))}
	for _, c := range p.Checks {
		row := Row{Mark: markOf(c.Verdict), Cells: []string{c.Limit.ID.String(), "not known", "", fmt.Sprintf("%.3g %%", c.Limit.Percent), "", pairWords(c.Verdict)}}
		if c.Known {
			value, low, high := 1+c.Percent/100, 1+c.Low/100, 1+c.High/100
			d := max(0, min(2, wording.Decimals((c.High-c.Low)/4)))
			row.Cells[1] = percent(value, d) + " %"
			row.Cells[2] = percent(low, d) + " to " + percent(high, d) + " %"
			row.Cells[4] = probability(c.ProbabilityIn, true)
		}
		t.Rows = append(t.Rows, row)
	}
	return t
}

// sidesTable lists both drivers next to one another.
func sidesTable(p *lot.Paired, all bool) Table {
	t := changeTable(&change.Compared{Before: p.Left, After: p.Right, Changes: p.Changes}, all)
	t.Title = "Left and right"
	t.Columns[1].Head, t.Columns[2].Head, t.Columns[4].Head = "left", "right", "difference"
	return t
}

// pairJSON is what a pair adds to the JSON.
func pairJSON(p *lot.Paired) jsonout.Object {
	checks := []jsonout.Object{}
	for _, c := range p.Checks {
		o := jsonout.Object{{"parameter", c.Limit.ID.String()}, {"limit_percent", jsonout.Number(c.Limit.Percent)}}
		if c.Known {
			o.Add("percent", jsonout.Number(c.Percent))
			o.Add("low", jsonout.Number(c.Low))
			o.Add("high", jsonout.Number(c.High))
			o.Add("probability_in", jsonout.Number(c.ProbabilityIn))
		}
		o.Add("verdict", c.Verdict.String())
		checks = append(checks, o)
	}
	fixes := []jsonout.Object{}
	for _, f := range p.Fixes {
		o := jsonout.Object{{"side", f.Side.String()}, {"do", string(f.What)}, {"percent", jsonout.Number(f.Percent)}}
		if f.Mass > 0 {
			o.Add("mass", jsonout.Number(f.Mass))
			o.Add("mass_unit", "kg")
		}
		fixes = append(fixes, append(o, jsonout.Object{{"distance", jsonout.Number(f.Distance)}, {"within_limits", f.Within}, {"level_db", jsonout.Number(f.Level)}}...))
	}
	return jsonout.Object{{"changes", changesJSON(p.Changes)}, {"checks", checks}, {"verdict", p.Verdict.String()},
		{"probability_all_in", jsonout.Number(p.Together)}, {"distance", jsonout.Number(p.Distance)}, {"equal_p_value", jsonout.Number(p.P)}, {"fixes", fixes}}
}
