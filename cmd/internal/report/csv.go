package report

import (
	"encoding/csv"
	"io"
	"math"
	"strconv"

	"conewright/ts/lot"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// CSV writes the numbers of the report, a line a parameter, in SI units and
// full precision. docs/formats.md names the columns.
func CSV(w io.Writer, r *Report) error {
	out := csv.NewWriter(w)
	var rows [][]string
	switch {
	case r.Cabinet != nil:
		rows = cabinetRows(r)
	case r.Exchange != nil:
		rows = exchangeRows(r.Exchange)
	case r.Drawer != nil:
		rows = drawerRows(r)
	case r.Paired != nil:
		rows = pairRows(r.Paired)
	case r.Compared != nil:
		rows = compareRows(r)
	case r.Checked != nil:
		rows = checkRows(r.Checked)
	case r.Lesson != nil:
		rows = lessonRows(r.Lesson)
	case r.Repeat != nil:
		rows = repeatRows(r.Repeat)
	case r.Ring != nil:
		rows = ringRows(r.Ring)
	default:
		rows = parameterRows(r.Sides[0].Parameters)
	}
	return out.WriteAll(rows)
}

func parameterRows(p param.Parameters) [][]string {
	rows := [][]string{{"parameter", "value", "unit", "std", "low", "high", "origin", "budget_noise", "budget_model", "budget_bench", "budget_repeat"}}
	for _, e := range p.All() {
		rows = append(rows, []string{e.ID.String(), full(e.Value), e.ID.Info().Unit, full(e.Std), full(e.Low), full(e.High), e.Origin.String(),
			full(e.Budget.Noise), full(e.Budget.Model), full(e.Budget.Bench), full(e.Budget.Repeat)})
	}
	return rows
}

func checkRows(c *verdict.Checked) [][]string {
	rows := [][]string{{"parameter", "value", "unit", "std", "lower", "upper", "probability_in", "verdict"}}
	for _, j := range c.Checks {
		rows = append(rows, append([]string{j.Limit.ID.String(), "", j.Limit.ID.Info().Unit, ""}, judgedCells(j)...))
		if last := rows[len(rows)-1]; j.Known {
			last[1], last[3] = full(j.Estimate.Value), full(j.Estimate.Std)
		}
	}
	return rows
}

func judgedCells(j verdict.Judged) []string {
	p := ""
	if j.Known {
		p = full(j.ProbabilityIn)
	}
	return []string{full(j.Limit.Lo), full(j.Limit.Hi), p, j.Verdict.String()}
}

func compareRows(r *Report) [][]string {
	rows := [][]string{{"parameter", "unit", "before", "before_std", "after", "after_std", "ratio", "ratio_low", "ratio_high", "how", "lower", "upper", "probability_in", "verdict"}}
	c := r.Compared
	for _, id := range param.All() {
		cells := make([]string, len(rows[0]))
		cells[0], cells[1] = id.String(), id.Info().Unit
		have := false
		if e, ok := c.Before.Get(id); ok {
			cells[2], cells[3], have = full(e.Value), full(e.Std), true
		}
		if e, ok := c.After.Get(id); ok {
			cells[4], cells[5], have = full(e.Value), full(e.Std), true
		}
		for _, ch := range c.Changes {
			if ch.ID == id {
				cells[6], cells[7], cells[8], cells[9], have = full(ch.Ratio), full(ch.Low), full(ch.High), ch.How, true
			}
		}
		if c.Checked != nil {
			for _, j := range c.Checked.Checks {
				if j.Limit.ID == id {
					copy(cells[10:], judgedCells(j))
					have = true
				}
			}
		}
		if have {
			rows = append(rows, cells)
		}
	}
	return rows
}

func pairRows(p *lot.Paired) [][]string {
	rows := [][]string{{"parameter", "unit", "left", "left_std", "right", "right_std", "ratio", "ratio_low", "ratio_high", "limit_percent", "probability_in", "verdict"}}
	for _, ch := range p.Changes {
		row := []string{ch.ID.String(), ch.ID.Info().Unit, "", "", "", "", full(ch.Ratio), full(ch.Low), full(ch.High), "", "", ""}
		if e, ok := p.Left.Get(ch.ID); ok {
			row[2], row[3] = full(e.Value), full(e.Std)
		}
		if e, ok := p.Right.Get(ch.ID); ok {
			row[4], row[5] = full(e.Value), full(e.Std)
		}
		for _, c := range p.Checks {
			if c.Limit.ID == ch.ID {
				row[9], row[10], row[11] = full(c.Limit.Percent), full(c.ProbabilityIn), c.Verdict.String()
			}
		}
		rows = append(rows, row)
	}
	return rows
}

// full writes a number in full precision; empty where it is not finite.
func full(v float64) string {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return ""
	}
	return strconv.FormatFloat(v, 'g', -1, 64)
}
