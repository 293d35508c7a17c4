package report

import (
	"fmt"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/ring"
)

// Ring reports what a ring of mass does to a driver.
func Ring(job Job, side Side, plan *ring.Plan) *Report {
	r := newReport(job, "ring", side)
	r.Ring = plan
	r.Title = "A mass ring for " + subject(job.Inputs, "")
	if plan.Request.Fitted {
		r.Title = subject(job.Inputs, "") + " without its mass ring"
	}
	r.Body = wording.Ring(plan)
	r.Cautions = wording.RingCautions(plan)
	r.Tables = append(r.Tables, effectTable(plan))
	if len(plan.Sizes) > 0 {
		r.Tables = append(r.Tables, sizeTable(plan))
	}
	return r
}

// effectTable lists the driver without and with the ring.
func effectTable(plan *ring.Plan) Table {
	now, then := "now", "with the ring"
	if plan.Request.Fitted {
		then = "without the ring"
	}
	t := Table{Columns: []Column{{"", Left}, {now, Point}, {then, Point}, {"", Left}, {"95 % interval", Right}, {"", Left}}}
	for _, row := range plan.Effect.Rows {
		b, a := scaleFor(row.ID, row.Before.Value, row.Before.Std), scaleFor(row.ID, row.After.Value, row.After.Std)
		within := ""
		if row.After.Std > 0 {
			within = a.interval(row.After.Low, row.After.High)
		}
		t.Rows = append(t.Rows, Row{Cells: []string{row.ID.String(), b.number(row.Before.Value), a.number(row.After.Value), unitOf(row.ID), within, wording.Name(row.ID)}})
	}
	return t
}

// sizeTable lists rings of the mass, one a material.
func sizeTable(plan *ring.Plan) Table {
	t := Table{Title: fmt.Sprintf("Ring of %.3g g on a former of %.4g mm", 1e3*plan.Mass.Value, 1e3*plan.Sizes[0].Ring.InnerDiameter),
		Columns: []Column{{"", Left}, {"height", Point}, {"thickness", Point}, {"outer diameter", Point}, {"", Left}},
		Note:    "Densities from handbooks; an alloy may differ by 1 or 2 %. Make the ring a little heavier and file it down on the scales."}
	mm := func(m float64) string { return fixed(1e3*m, 2) }
	for _, s := range plan.Sizes {
		t.Rows = append(t.Rows, Row{Cells: []string{s.Material.Name, mm(s.Ring.Height), mm(s.Ring.Thickness),
			mm(s.Ring.InnerDiameter + 2*s.Ring.Thickness), "mm"}})
	}
	return t
}

// ringJSON is the part of the JSON that a ring adds; SI units.
func ringJSON(plan *ring.Plan) jsonout.Object {
	o := jsonout.Object{{"mass", spreadJSON(plan.Mass, "kg")}, {"adhesive", jsonout.Object{{"value", jsonout.Number(plan.Request.Adhesive.Value)}, {"unit", "kg"}, {"std", jsonout.Number(plan.Request.Adhesive.Std)}}},
		{"total", spreadJSON(plan.Total, "kg")}, {"fitted", plan.Request.Fitted}}
	if f := plan.Request.TargetFs; f != 0 {
		o.Add("target", jsonout.Object{{"value", jsonout.Number(f)}, {"unit", "Hz"}})
	}
	before, after := jsonout.Object{}, jsonout.Object{}
	for _, row := range plan.Effect.Rows {
		before.Add(row.ID.String(), spreadJSON(row.Before, row.ID.Info().Unit))
		after.Add(row.ID.String(), spreadJSON(row.After, row.ID.Info().Unit))
	}
	o.Add("before", before)
	o.Add("after", after)
	o.Add("level_change", spreadJSON(plan.Effect.LevelChange, "dB"))
	sizes := []jsonout.Object{}
	for _, s := range plan.Sizes {
		sizes = append(sizes, jsonout.Object{{"material", s.Material.Name}, {"density", jsonout.Number(s.Material.Density.Value)}, {"density_unit", "kg/m^3"},
			{"inner_diameter", jsonout.Number(s.Ring.InnerDiameter)}, {"height", jsonout.Number(s.Ring.Height)}, {"thickness", jsonout.Number(s.Ring.Thickness)}, {"unit", "m"}})
	}
	o.Add("sizes", sizes)
	return o
}

func spreadJSON(s ring.Spread, unit string) jsonout.Object {
	return jsonout.Object{{"value", jsonout.Number(s.Value)}, {"unit", unit}, {"std", jsonout.Number(s.Std)}, {"low", jsonout.Number(s.Low)}, {"high", jsonout.Number(s.High)}}
}

// ringRows is the CSV of a ring.
func ringRows(plan *ring.Plan) [][]string {
	rows := [][]string{{"quantity", "unit", "before", "before_std", "after", "after_std", "after_low", "after_high"}}
	for _, r := range plan.Effect.Rows {
		rows = append(rows, []string{r.ID.String(), r.ID.Info().Unit, full(r.Before.Value), full(r.Before.Std),
			full(r.After.Value), full(r.After.Std), full(r.After.Low), full(r.After.High)})
	}
	m := plan.Mass
	return append(rows, []string{"ring", "kg", "", "", full(m.Value), full(m.Std), full(m.Low), full(m.High)})
}
