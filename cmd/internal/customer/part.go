package customer

import (
	"fmt"
	"math"
	"slices"

	"conewright/cmd/internal/plot"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/wording"
	"conewright/ts/cabinet"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Verdict says in one sentence how the driver stands to its sheet, for someone who has no use
// for symbols. c is nil where there is no sheet; more says that the page tells of the cabinet or
// of parts of the network as well, of which this sentence says nothing.
func Verdict(c *verdict.Checked, more bool) (string, report.Mark) {
	if c == nil {
		return "The driver was measured; there is no sheet of the maker to hold it against.", report.NoMark
	}
	sheet := "the limits of its sheet"
	if c.Spec.Name != "" {
		sheet = fmt.Sprintf("the limits for “%s”", c.Spec.Name)
	}
	var which []string
	for _, j := range c.Checks {
		if j.Verdict == c.Verdict {
			which = append(which, wording.Name(j.Limit.ID))
		}
	}
	switch c.Verdict {
	case verdict.InSpec:
		of := ""
		if more {
			of = " of it in free air"
		}
		return fmt.Sprintf("This driver is right: everything that was measured%s lies within %s.", of, sheet), report.Good
	case verdict.OutOfSpec:
		return fmt.Sprintf("This driver is not right yet: %s %s outside %s.", wording.List(which), isOrAre(len(which)), sheet), report.Bad
	}
	return fmt.Sprintf("It cannot be said yet whether this driver is right: %s may lie within or outside %s.", wording.List(which), sheet), report.Open
}

func isOrAre(n int) string {
	if n == 1 {
		return "lies"
	}
	return "lie"
}

// shown are the quantities on the sheet, as far as they are known.
var shown = []param.ID{param.Re, param.Fs, param.Qts, param.Mms, param.Cms, param.BL}

// Values lists what was measured, before nil where there is nothing to compare with.
func Values(before *param.Parameters, after param.Parameters, c *verdict.Checked) report.Table {
	t := report.Table{Columns: []report.Column{{}, {}}}
	if before != nil {
		t.Columns = append(t.Columns, report.Column{Head: "before", Align: report.Point})
	}
	t.Columns = append(t.Columns, report.Column{Head: "now", Align: report.Point}, report.Column{})
	if c != nil {
		t.Columns = append(t.Columns, report.Column{Head: "limits", Align: report.Right}, report.Column{})
	}
	for _, id := range shown {
		now, ok := after.Get(id)
		if !ok {
			continue
		}
		cells := []string{id.String(), wording.Name(id)}
		if before != nil {
			text := ""
			if was, ok := before.Get(id); ok {
				text = report.Number(id, was.Value, max(was.Std, now.Std))
			}
			cells = append(cells, text)
		}
		cells = append(cells, report.Number(id, now.Value, now.Std), report.Unit(id))
		row := report.Row{}
		if c != nil {
			limits, word := "", ""
			for _, j := range c.Checks {
				if j.Limit.ID == id {
					limits, word, row.Mark = report.Limits(j.Limit), report.VerdictWords(j.Verdict), report.MarkOf(j.Verdict)
				}
			}
			cells = append(cells, limits, word)
		}
		row.Cells = cells
		t.Rows = append(t.Rows, row)
	}
	return t
}

// Picture is the impedance before and after, without what only a technician looks at.
func Picture(r *report.Report) plot.Figure {
	f, ok := report.SweepFigure(r)
	c, isChart := f.(plot.Chart)
	if !ok || !isChart {
		return nil
	}
	c.Title = "Impedance before and after"
	if len(r.Sides) == 1 {
		c.Title = "Impedance"
	}
	c.Panels = c.Panels[:1]
	c.Panels[0].Height = 135
	c.Panels[0].Y.Label = "impedance, Ω"
	c.X.Lo, c.X.Hi = 10, 1000
	return c
}

// Frequencies of the picture of the cabinet, in Hz.
const lowest, highest, steps = 20.0, 200.0, 80

// In says what the driver does in its cabinet: now, before (nil: not known), and as its sheet
// has it (nil: the sheet does not say).
func In(box cabinet.Cabinet, before *param.Parameters, now param.Parameters, sheet *cabinet.Driver) (*Cabinet, error) {
	freq := make([]float64, steps+1)
	for i := range freq {
		freq[i] = lowest * math.Pow(highest/lowest, float64(i)/steps)
	}
	levels, err := box.Levels(now, freq)
	if err != nil {
		return nil, err
	}
	panel := plot.Panel{Y: plot.Axis{Label: "level, dB"}, Height: 85}
	out := &Cabinet{Title: "In " + wording.Cabinet(box)}
	half := levels.Half
	if before != nil {
		change, err := box.Difference(now, *before, freq)
		if err != nil {
			return nil, err
		}
		was := make([]float64, len(freq))
		for i := range freq {
			was[i] = levels.Level[i] - change.Level[i]
		}
		panel.Series = append(panel.Series, plot.Series{Name: "before", Role: plot.Before, X: freq, Y: was, Line: true})
		out.Says, half = wording.InCabinet(change, "before the repair"), change.Half
	}
	if sheet != nil {
		off, err := box.Against(now, *sheet, freq)
		if err != nil {
			return nil, err
		}
		ideal := make([]float64, len(freq))
		for i := range freq {
			ideal[i] = levels.Level[i] - off.Level[i]
		}
		panel.Series = append(panel.Series, plot.Series{Name: "by the sheet", Role: plot.Aside, X: freq, Y: ideal, Line: true})
		out.Says, half = wording.InCabinet(off, "a driver as its sheet has it"), off.Half
	}
	band := plot.Band{Role: plot.After, X: freq}
	for i, l := range levels.Level {
		band.Lo, band.Hi = append(band.Lo, l-half[i]), append(band.Hi, l+half[i])
	}
	panel.Bands = []plot.Band{band}
	panel.Y.Lo, panel.Y.Hi = 10*math.Floor(slices.Min(band.Lo)/10), max(5, 5*math.Ceil(slices.Max(band.Hi)/5))
	panel.Series = append(panel.Series, plot.Series{Name: "now", Role: plot.After, X: freq, Y: levels.Level, Line: true})
	out.Picture = plot.Chart{About: plot.About{Title: "Does it matter? " + out.Title, Desc: "Level over frequency. " + out.Says},
		X: plot.Axis{Label: "frequency, Hz", Log: true, Lo: lowest, Hi: highest}, Panels: []plot.Panel{panel}}
	return out, nil
}

// BySheet is the driver in the middle of its limits, as far as the sheet says; what it does
// not say is taken from the driver itself. nil: the sheet has no Fs and total Q.
func BySheet(s *verdict.Spec, now param.Parameters) *cabinet.Driver {
	d, err := cabinet.DriverOf(now)
	if s == nil || err != nil {
		return nil
	}
	middle := func(id param.ID) (float64, bool) {
		l, ok := s.Limit(id)
		m := (l.Lo + l.Hi) / 2
		return m, ok && !math.IsInf(m, 0) && !math.IsNaN(m)
	}
	fs, haveFs := middle(param.Fs)
	qts, haveQ := middle(param.Qts)
	if !haveFs || !haveQ || qts >= d.Qms {
		return nil
	}
	own := d
	d.Fs, d.Qes = fs, qts*d.Qms/(d.Qms-qts)
	if re, ok := middle(param.Re); ok {
		d.Re = re
	}
	if cms, ok := middle(param.Cms); ok { // Vas goes with it, the cone being the same
		if e, known := now.Get(param.Cms); known {
			d.Vas = own.Vas * cms / e.Value
		}
	} else if vas, ok := middle(param.Vas); ok {
		d.Vas = vas
	}
	return &d
}
