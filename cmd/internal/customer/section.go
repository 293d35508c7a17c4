package customer

import (
	"fmt"

	"conewright/cmd/internal/report"
	"conewright/cmd/internal/wording"
	"conewright/ts/boxed"
	"conewright/ts/verdict"
)

// Section is what was measured beside the driver in free air.
type Section struct {
	Title string
	Says  []string     // sentences
	Table report.Table // without rows: none
}

// InItsCabinet says what the measurement of the driver in its cabinet shows, for someone who has no use for symbols: what is wrong
// first, then what differs from before, then what the box is.
func InItsCabinet(in *report.InCabinet) Section {
	last := in.Measured[len(in.Measured)-1]
	s := Section{Title: "In its cabinet, measured"}
	facts := wording.Cabinets("", last)
	if wrong := facts[1:]; len(wrong) > 0 {
		s.Says = append(s.Says, wrong...)
	} else if last.Known.Driver != nil && (in.Checked == nil || in.Checked.Verdict == verdict.InSpec) {
		s.Says = append(s.Says, "Nothing wrong shows with the cabinet.")
	}
	if c := in.Compared; c != nil {
		s.Says = append(s.Says, sinceBefore(c))
	}
	if c := in.Checked; c != nil {
		s.Says = append(s.Says, byLimits(c))
	}
	s.Says = append(s.Says, facts[0])
	return s
}

// byLimits says how the box stands to its limits.
func byLimits(c *verdict.Checked) string {
	var outside []string
	for _, j := range c.Checks {
		if j.Verdict == verdict.OutOfSpec {
			outside = append(outside, wording.Name(j.Limit.ID))
		}
	}
	switch c.Verdict {
	case verdict.InSpec:
		return "The box lies within its limits."
	case verdict.OutOfSpec:
		return fmt.Sprintf("The box is not right yet: %s %s outside its limits.", wording.List(outside), isOrAre(len(outside)))
	}
	return "It cannot be said yet whether the box lies within its limits."
}

// sinceBefore says what differs from the first measurement in the cabinet.
func sinceBefore(c *boxed.Compared) string {
	name := wording.FaultName(c.Finding.Fault, c.Finding.Sure)
	switch {
	case !c.Explained:
		return "It is not as it was before the work, and nothing that is known explains how."
	case c.Finding.Fault == boxed.NoChange:
		return "It is as it was before the work."
	case c.Which == 0:
		return fmt.Sprintf("Before the work there was %s; now there is not.", name)
	}
	return fmt.Sprintf("There is %s that was not there before the work.", name)
}

// Network lists parts of the network: rows of a name, the cells that [report.KeptPart.Cells] gives, what the part should be, and
// the verdict.
func Network(rows []report.Row) Section {
	return Section{Title: "Parts of the network", Table: report.Table{
		Columns: []report.Column{{}, {}, {Head: "value", Align: report.Point}, {}, {Head: "resistance", Align: report.Point}, {}, {Head: "should be"}, {}}, Rows: rows}}
}
