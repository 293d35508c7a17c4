package main

import (
	"context"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/report"
	"conewright/ts/param"
)

var jobShowCommand = command{
	name: "job show", synopsis: "JOB [options]", summary: "everything about one job",
	about:    `Shows a job with its drivers, their stages and what each stage says.`,
	examples: `conewright job show job:1`,
	setup: func(g *optionGroups) action {
		var o bookOption
		asJSON := false
		fs := g.group("Output")
		fs.BoolVar(&asJSON, "json", false, "write JSON instead of text: SI units, full precision")
		o.define(fs)
		return func(c *console, args []string) (answer, error) {
			ref, err := oneRef(args, jobPart, "conewright job show job:1")
			if err != nil {
				return done, err
			}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error {
				j, err := b.Job(ctx, ref.Job)
				if err != nil {
					return err
				}
				if asJSON {
					data, err := json.Marshal(j)
					if err != nil {
						return err
					}
					_, err = c.out.Write(append(jsonout.Spread(data), '\n'))
					return err
				}
				return showJob(c, j)
			})
		}
	},
}

// showJob writes a job as text.
func showJob(c *console, j book.Job) error {
	r := &report.Report{Title: fmt.Sprintf("job:%d  %s", j.Number, j.Title)}
	about := []string{"begun " + dateOf(j.Opened)}
	for _, text := range []string{j.Customer, j.Contact} {
		if text != "" {
			about = append(about, text)
		}
	}
	r.Body = append(r.Body, strings.Join(about, "; ")+".")
	if j.Work != "" {
		r.Body = append(r.Body, "Done: "+j.Work)
	}
	for _, d := range j.Drivers {
		if t := stageTable(d); len(t.Rows) > 0 {
			r.Tables = append(r.Tables, t)
		}
		if len(d.InCabinet()) > 0 {
			t, err := cabinetTable(j.Number, d)
			if err != nil {
				return err
			}
			r.Tables = append(r.Tables, t)
		}
		if len(d.Parts()) > 0 {
			t, err := partsTable(d)
			if err != nil {
				return err
			}
			r.Tables = append(r.Tables, t)
		}
	}
	if len(j.Drivers) == 0 {
		r.Body = append(r.Body, fmt.Sprintf("No sweep yet; add the first with: conewright job add job:%d/left/as-received FILE", j.Number))
	}
	return report.Text(c.out, r)
}

// shownValues are the quantities in lists of the book.
var shownValues = []param.ID{param.Re, param.Fs, param.Qts, param.Mms, param.Cms, param.BL}

// valueHeads are their columns.
func valueHeads() []report.Column {
	var list []report.Column
	for _, id := range shownValues {
		list = append(list, report.Column{Head: report.Head(id), Align: report.Point})
	}
	return list
}

// valueCells are the cells below them.
func valueCells(values map[param.ID]book.Value) []string {
	var cells []string
	for _, id := range shownValues {
		cell := ""
		if v, ok := values[id]; ok {
			cell = report.Number(id, v.Value, v.Std)
		}
		cells = append(cells, cell)
	}
	return cells
}

// stageTable lists the stages of a driver out of its cabinet.
func stageTable(d book.Driver) report.Table {
	t := report.Table{Title: driverWords(d), Columns: append([]report.Column{{Head: "stage"}, {Head: "added"}, {Head: "sweeps", Align: report.Right}}, valueHeads()...)}
	t.Columns = append(t.Columns, report.Column{Head: "verdict"})
	for _, s := range d.Stages {
		if s.Name == book.Parts || book.IsInCabinet(s.Name) {
			continue
		}
		row := report.Row{Cells: []string{s.Name, dateOf(s.Last()), fmt.Sprint(len(s.Sweeps))}}
		values, verdict := map[param.ID]book.Value(nil), ""
		if s.Result != nil {
			values, verdict = s.Result.Values, verdictWords(s.Result.Verdict)
		}
		row.Cells = append(append(row.Cells, valueCells(values)...), verdict)
		t.Rows = append(t.Rows, row)
	}
	return t
}

// driverWords names a driver: "left: Larch 25, serial 0417, sheet larch.toml".
func driverWords(d book.Driver) string {
	var about []string
	if d.Type != "" {
		about = append(about, d.Type)
	}
	if d.Serial != "" {
		about = append(about, "serial "+d.Serial)
	}
	if d.SheetName != "" {
		about = append(about, "sheet "+d.SheetName)
	}
	if len(about) == 0 {
		return d.Side
	}
	return d.Side + ": " + strings.Join(about, ", ")
}

// dateOf writes a day as the calendar of this computer has it.
func dateOf(t time.Time) string { return t.Local().Format("2006-01-02") }
