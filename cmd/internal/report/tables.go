package report

import (
	"fmt"
	"math"
	"path/filepath"

	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/change"
	"conewright/ts/fitted"
	"conewright/ts/measured"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// shown says whether a quantity is in the tables, which hold all when asked for.
func shown(id param.ID, all bool) bool { return quantity.Usual(id) || all }

// parameterTable lists the values of one driver.
func parameterTable(p param.Parameters, all bool) Table {
	t := Table{Columns: []Column{{"", Left}, {"value", Point}, {"", Left}, {"95 % interval", Right}, {"", Left}, {"uncertainty mostly from", Left}}}
	for i, e := range p.All() {
		if !shown(e.ID, all) {
			continue
		}
		b := scaleFor(e.ID, e.Value, e.Std)
		within, source := "", "as entered"
		if e.Std > 0 {
			within, source = b.interval(e.Low, e.High), mainSource(e.Budget, p.Assumed(i))
		}
		t.Rows = append(t.Rows, Row{Cells: []string{e.ID.String(), b.number(e.Value), unitOf(e.ID), within, wording.Name(e.ID), source}})
	}
	return t
}

// mainSource names the largest part of the uncertainty.
func mainSource(b param.Budget, assumed bool) string {
	repeats := "repeats"
	if assumed {
		repeats = "repeats (assumed)"
	}
	name, most := "noise", b.Noise
	for _, part := range []struct {
		name string
		size float64
	}{{"model", b.Model}, {"bench", b.Bench}, {repeats, b.Repeat}} {
		if part.size > most {
			name, most = part.name, part.size
		}
	}
	return name
}

// checkTable lists values against their limits.
func checkTable(c *verdict.Checked) Table {
	t := Table{Title: "Against the spec sheet", Columns: []Column{{"", Left}, {"value", Point}, {"", Left}, {"limits", Left}, {"chance of being in", Right}, {"verdict", Left}}}
	for _, j := range c.Checks {
		id := j.Limit.ID
		value := "not known"
		if j.Known {
			value = scaleFor(id, j.Estimate.Value, j.Estimate.Std).number(j.Estimate.Value)
		}
		t.Rows = append(t.Rows, Row{Mark: markOf(j.Verdict), Cells: []string{id.String(), value, unitOf(id),
			limits(j.Limit), probability(j.ProbabilityIn, j.Known), verdictWords(j.Verdict)}})
	}
	return t
}

// limits writes "30 to 34", "at most 34" or "at least 30", without the unit.
func limits(l verdict.Limit) string {
	switch {
	case math.IsInf(l.Lo, -1) && math.IsInf(l.Hi, 1):
		return "none"
	case math.IsInf(l.Lo, -1):
		return "at most " + limit(l.ID, l.Hi)
	case math.IsInf(l.Hi, 1):
		return "at least " + limit(l.ID, l.Lo)
	}
	return limit(l.ID, l.Lo) + " to " + limit(l.ID, l.Hi)
}

// probability writes a probability in percent, never as a certainty.
func probability(p float64, known bool) string {
	switch {
	case !known || math.IsNaN(p):
		return ""
	case p < 0.001:
		return "below 0.1 %"
	case p > 0.999:
		return "above 99.9 %"
	case p < 0.1 || p > 0.9:
		return fixed(100*p, 1) + " %"
	}
	return fixed(100*p, 0) + " %"
}

// changeTable lists what two drivers, or one before and after, have in common
// and what not.
func changeTable(c *change.Compared, all bool) Table {
	t := Table{Title: "Before and after", Columns: []Column{{"", Left}, {"before", Point}, {"after", Point}, {"", Left}, {"change", Point}, {"95 % interval", Right}, {"how", Left}}}
	changes := map[param.ID]change.Change{}
	for _, ch := range c.Changes {
		changes[ch.ID] = ch
	}
	for _, id := range param.All() {
		ch, changed := changes[id]
		before, haveBefore := c.Before.Get(id)
		after, haveAfter := c.After.Get(id)
		if !shown(id, all) || !changed && !haveBefore && !haveAfter {
			continue
		}
		cells := []string{id.String(), "", "", unitOf(id), "", "", ""}
		std := math.Max(before.Std, after.Std)
		if haveBefore {
			cells[1] = scaleFor(id, before.Value, std).number(before.Value)
		}
		if haveAfter {
			cells[2] = scaleFor(id, after.Value, std).number(after.Value)
		}
		if changed {
			d := max(0, min(2, wording.Decimals(100*(ch.High-ch.Low)/4)))
			cells[4] = percent(ch.Ratio, d) + " %"
			cells[5] = percent(ch.Low, d) + " to " + percent(ch.High, d) + " %"
			cells[6] = ch.How
		}
		t.Rows = append(t.Rows, Row{Cells: cells})
		if id == param.Cms && changed && ch.Changed() {
			// Beside "38 % stiffer" the -28 % of the table looks like another number.
			t.Note = fmt.Sprintf("Cms is the compliance, which falls as the stiffness grows: %s %% in Cms is %s %% in stiffness.",
				percent(ch.Ratio, 0), percent(1/ch.Ratio, 0))
		}
	}
	return t
}

// methodTable lists the moving mass by each way of computing it.
func methodTable(methods []fitted.MassMethod) Table {
	t := Table{Title: "Moving mass by each method", Columns: []Column{{"", Left}, {"Mms", Point}, {"", Left}, {"standard uncertainty", Point}}}
	for _, m := range methods {
		b := scaleFor(param.Mms, m.Value, m.Std)
		t.Rows = append(t.Rows, Row{Cells: []string{wording.Plain(m.Name), b.number(m.Value), unitOf(param.Mms), b.number(m.Std)}})
	}
	return t
}

// curveName says which sweep a curve is.
func curveName(in saved.Input) string {
	return filepath.Base(in.Path) + ", " + loadWords(in.Load)
}

// loadWords says what was on the cone.
func loadWords(l measured.Load) string {
	switch l.Kind {
	case measured.AddedMass:
		return fmt.Sprintf("%.4g g added", l.Value*1e3)
	case measured.KnownBox:
		return fmt.Sprintf("on a box of %.4g L", l.Value*1e3)
	}
	return "nothing added"
}
