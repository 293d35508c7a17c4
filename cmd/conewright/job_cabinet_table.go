package main

import (
	"encoding/json"
	"fmt"
	"slices"
	"strings"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/wording"
	"conewright/ts/boxed"
	"conewright/ts/param"
)

// freeStage is the stage in free air whose driver a stage in the cabinet is held against, empty for none.
func freeStage(d book.Driver, stage string) string {
	free, _ := d.FreeFor(stage)
	return free.Name
}

// keptBox is what job show reads from the report of a stage in the cabinet.
type keptBox struct {
	Kind       string                `json:"kind"`
	Parameters map[string]book.Value `json:"parameters"`
	Findings   []keptFinding         `json:"findings"`
	After      *keptBox              `json:"after"`
	Compared   *struct {
		keptFinding
		Explained bool   `json:"explained"`
		Side      string `json:"side"`
	} `json:"compared"`
}

// last is the box of the stage, where it is compared with the first one.
func (k keptBox) last() keptBox {
	if k.After != nil {
		return *k.After
	}
	return k
}

type keptFinding struct {
	Finding string `json:"finding"`
	Sure    bool   `json:"sure"`
}

// cabinetTable lists the stages of a driver in the cabinet.
func cabinetTable(job int, d book.Driver) (report.Table, error) {
	t := report.Table{Title: d.Side + ": in the cabinet", Columns: []report.Column{{Head: "stage"}, {Head: "added"}, {Head: "sweeps", Align: report.Right}, {Head: "box"},
		{Head: "resonance or tuning", Align: report.Point}, {Head: ""}, {Head: "Qtc or QB", Align: report.Point}, {Head: "Vab", Align: report.Point}, {Head: ""}, {Head: "driver as at"}, {Head: "found"}, {Head: "verdict"}}}
	for _, s := range d.InCabinet() {
		row := report.Row{Cells: []string{s.Name, dateOf(s.Last()), fmt.Sprint(len(s.Sweeps))}}
		if s.Cabinet == nil {
			row.Cells = append(row.Cells, slices.Repeat([]string{""}, len(t.Columns)-3)...)
			t.Note = fmt.Sprintf("A stage without values was added by an older version: conewright job recompute job:%d computes it.", job)
			t.Rows = append(t.Rows, row)
			continue
		}
		var kept keptBox
		if err := json.Unmarshal(s.Cabinet.Report, &kept); err != nil {
			return t, err
		}
		box := kept.last()
		main, q := param.Fc, param.Qtc
		if box.Kind == string(boxed.Vented) {
			main, q = param.Fb, param.QB
		}
		cell := func(id param.ID) string {
			v, ok := box.Parameters[id.String()]
			if !ok {
				return ""
			}
			return report.Number(id, v.Value, v.Std)
		}
		unit := func(id param.ID) string {
			if cell(id) == "" {
				return ""
			}
			return report.Unit(id)
		}
		row.Cells = append(row.Cells, box.Kind, cell(main), unit(main), cell(q), cell(param.Vab), unit(param.Vab), s.Cabinet.Free, box.found(kept), verdictWords(s.Cabinet.Verdict))
		t.Rows = append(t.Rows, row)
	}
	return t, nil
}

// found names what is wrong with a box, or what differs from the one before.
func (k keptBox) found(whole keptBox) string {
	var names []string
	for _, f := range k.Findings {
		names = append(names, wording.FaultName(boxed.Fault(f.Finding), f.Sure))
	}
	if c := whole.Compared; c != nil {
		name := wording.FaultName(boxed.Fault(c.Finding), c.Sure)
		switch {
		case !c.Explained:
			name = "different, and nothing known follows it"
		case boxed.Fault(c.Finding) != boxed.NoChange:
			name += " (" + c.Side + ")"
		}
		names = append(names, "against the first: "+name)
	}
	return strings.Join(names, "; ")
}
