package report

import (
	"encoding/json"
	"fmt"
	"io"
	"slices"
	"strings"
	"unicode/utf8"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/datatable"
	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/printable"
	"conewright/cmd/internal/wording"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// verdict is the word for the unit: its verdict, "failed", or "" where nothing
// was asked.
func unitVerdict(u *batch.Unit) string {
	switch {
	case u.Failed != nil:
		return "failed"
	case u.Checked != nil:
		return u.Checked.Verdict.String()
	}
	return ""
}

// Lines writes the units of a batch one by one as they come.
type Lines interface {
	// Head is written before the first unit.
	Head() error
	Unit(u *batch.Unit) error
}

// NewLines returns the writer for a form: "text", "json" or "csv". widest is
// the length of the longest name, about the names of what is said of units beside their
// files.
func NewLines(form string, w io.Writer, spec *verdict.Spec, widest int, about []string) Lines {
	switch form {
	case "json":
		return jsonLines{w}
	case "csv":
		return &csvLines{w: w, about: about}
	}
	return textLines{w, lineIDs(spec), min(max(widest, 4), 32)}
}

// lineIDs are the quantities on the text line of a unit.
func lineIDs(spec *verdict.Spec) []param.ID {
	if spec == nil {
		return []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts}
	}
	var ids []param.ID
	for _, l := range spec.Limits {
		ids = append(ids, l.ID)
	}
	return ids
}

// unitJSON is a unit as JSON on one line.
func unitJSON(u *batch.Unit) ([]byte, error) {
	o := jsonout.Object{{"schema", "conewright/batch/1"}, {"unit", u.Name}, {"inputs", orEmpty(u.Inputs)}}
	if len(u.About) > 0 {
		o.Add("about", u.About)
	}
	if u.Failed != nil {
		o.Add("error", u.Failed)
	} else {
		if u.Checked != nil {
			o.Add("verdict", u.Checked.Verdict.String())
		}
		o.Add("parameters", parametersJSON(u.Parameters))
		if u.Checked != nil {
			o.Add("checks", checksJSON(u.Checked))
		}
		o.Add("warnings", orEmpty(u.Warnings))
	}
	data, err := json.Marshal(o)
	return append(data, '\n'), err
}

// jsonLines writes one JSON object a line.
type jsonLines struct{ w io.Writer }

func (l jsonLines) Head() error { return nil }

func (l jsonLines) Unit(u *batch.Unit) error {
	data, err := unitJSON(u)
	if err != nil {
		return err
	}
	_, err = l.w.Write(data)
	return err
}

// tableLines writes the units as a table for other programs.
type tableLines struct {
	w     datatable.Writer
	about []string // columns at the end
}

// NewTableLines returns what writes units to a table with the columns of [UnitColumns].
func NewTableLines(w datatable.Writer, about []string) Lines { return tableLines{w, about} }

// csvIDs are the quantities in the columns of a batch.
var csvIDs = []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts, param.Mms, param.Cms, param.Rms, param.BL, param.Vas}

// UnitColumns are the columns of a table of units; those of about stand at the end, under another name
// where theirs is taken.
func UnitColumns(about []string) []datatable.Column {
	columns := []datatable.Column{{Name: "unit"}, {Name: "verdict"}}
	for _, id := range csvIDs {
		name := id.String()
		if unit := id.Info().Unit; unit != "1" {
			name += "_" + unit
		}
		columns = append(columns, datatable.Column{Name: name, Number: true}, datatable.Column{Name: id.String() + "_std", Number: true})
	}
	for _, name := range append([]string{"decided_by", "warnings", "error", "files", "sha256"}, about...) {
		for slices.ContainsFunc(columns, func(c datatable.Column) bool { return c.Name == name }) {
			name = "manifest_" + name
		}
		columns = append(columns, datatable.Column{Name: name})
	}
	return columns
}

// Head has nothing to do: the writer of the table has written it.
func (l tableLines) Head() error { return nil }

func (l tableLines) Unit(u *batch.Unit) error {
	row := []datatable.Cell{datatable.Text(u.Name), datatable.Text(unitVerdict(u))}
	for _, id := range csvIDs {
		value, std := datatable.Missing, datatable.Missing
		if e, ok := u.Parameters.Get(id); ok && u.Failed == nil {
			value, std = datatable.Number(e.Value), datatable.Number(e.Std)
		}
		row = append(row, value, std)
	}
	var codes, files, sums []string
	for _, w := range u.Warnings {
		codes = append(codes, w.Code)
	}
	for _, in := range u.Inputs {
		files = append(files, in.Path)
		sums = append(sums, in.SHA256)
	}
	decided, failure := "", ""
	if u.Checked != nil && len(u.Checked.Checks) > 0 {
		decided = u.Checked.Deciding().Limit.ID.String()
	}
	if u.Failed != nil {
		failure = u.Failed.Message
	}
	texts := []string{decided, strings.Join(codes, " "), failure, strings.Join(files, "|"), strings.Join(sums, "|")}
	for _, name := range l.about {
		texts = append(texts, u.About.Get(name))
	}
	for _, text := range texts {
		row = append(row, datatable.Text(text))
	}
	return l.w.Row(row)
}

// csvLines is a table as CSV whose head is written when it is asked for.
type csvLines struct {
	w     io.Writer
	about []string
	lines *tableLines
}

func (l *csvLines) Head() error {
	w, err := datatable.NewCSV(l.w, UnitColumns(l.about))
	l.lines = &tableLines{w, l.about}
	return err
}

func (l *csvLines) Unit(u *batch.Unit) error { return l.lines.Unit(u) }

// row is the unit as a row of a table: name, verdict, one cell for each of ids,
// and what stands behind a verdict that is not good.
func unitRow(u *batch.Unit, ids []param.ID) Row {
	r := Row{Cells: []string{u.Name, ""}}
	remark := ""
	switch {
	case u.Failed != nil:
		r.Cells[1], r.Mark, remark = "failed", Bad, u.Failed.Message
	case u.Checked != nil:
		r.Cells[1], r.Mark = verdictWords(u.Checked.Verdict), markOf(u.Checked.Verdict)
		if u.Checked.Verdict != verdict.InSpec {
			remark = reasons(u.Checked)
		}
	}
	for _, id := range ids {
		cell := ""
		if e, ok := u.Parameters.Get(id); ok && u.Failed == nil {
			cell = scaleFor(id, e.Value, e.Std).number(e.Value)
		}
		r.Cells = append(r.Cells, cell)
	}
	r.Cells = append(r.Cells, remark)
	return r
}

// shortSums are the beginnings of the checksums of a unit's files: enough to see
// on paper whether a file is the one that was measured.
func shortSums(u *batch.Unit) string {
	var sums []string
	for _, in := range u.Inputs {
		if len(in.SHA256) > shortSum {
			sums = append(sums, in.SHA256[:shortSum])
		}
	}
	return strings.Join(sums, " ")
}

const shortSum = 12

// lineHead is the head of the column of a quantity: "Fs Hz".
func lineHead(id param.ID) string { return wording.WithUnit(id.String(), unitOf(id)) }

// textLines writes one line a unit for people. The lines come one by one, so
// that the widths are settled beforehand.
type textLines struct {
	w      io.Writer
	ids    []param.ID
	widest int // name
}

func (l textLines) Head() error {
	cells := []string{"unit", "verdict"}
	for _, id := range l.ids {
		cells = append(cells, lineHead(id))
	}
	return l.write(append(cells, ""))
}

func (l textLines) Unit(u *batch.Unit) error {
	if u.Failed != nil {
		return l.write([]string{u.Name, "failed", u.Failed.Message})
	}
	return l.write(unitRow(u, l.ids).Cells)
}

func (l textLines) write(cells []string) error {
	cells = slices.Clone(cells)
	for i, c := range cells {
		cells[i] = printable.Line(c)
	}
	last := len(cells) - 1
	line := padRight(cells[0], l.widest) + "  " + padRight(cells[1], len("cannot tell yet"))
	for _, c := range cells[2:last] {
		line += "  " + padLeft(c, 9)
	}
	_, err := fmt.Fprintln(l.w, strings.TrimRight(line+"  "+cells[last], " "))
	return err
}

// reasons names what stands behind a verdict that is not good: "Fs high, Cms low".
func reasons(c *verdict.Checked) string {
	var words []string
	for _, j := range c.Checks {
		if j.Verdict != c.Verdict {
			continue
		}
		word := j.Limit.ID.String()
		switch {
		case !j.Known:
			word += " not known"
		case j.Verdict == verdict.Undecided:
			word += " too near"
		case j.Estimate.Value > j.Limit.Hi:
			word += " high"
		default:
			word += " low"
		}
		words = append(words, word)
	}
	return strings.Join(words, ", ")
}

func padRight(s string, n int) string {
	return s + strings.Repeat(" ", max(0, n-utf8.RuneCountInString(s)))
}

func padLeft(s string, n int) string {
	return strings.Repeat(" ", max(0, n-utf8.RuneCountInString(s))) + s
}
