package report

import (
	"fmt"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/driver"
	"conewright/ts/param"
	"conewright/ts/ring"
)

// Lesson reports the experiment with several masses on one cone. Truth is the
// driver behind a virtual experiment, nil for a real one.
func Lesson(job Job, side Side, truth *driver.Driver) *Report {
	r := newReport(job, "lesson", side)
	m := side.MassLine
	r.Lesson, r.Truth = m, truth
	r.Title = fmt.Sprintf("The mass line of %s", subject(job.Inputs, ""))
	if truth != nil {
		r.Title = "The mass line of a driver on the virtual bench"
	}
	r.Body = wording.MassLine(m)
	r.Tables = append(r.Tables, pointTable(m), lineTable(m, truth))
	r.warn(wording.Notices(m.Warnings))
	if truth != nil {
		r.Warnings = wording.WithoutBench(r.Warnings)
	}
	return r
}

// pointTable lists the sweeps of the experiment.
func pointTable(m *ring.MassLine) Table {
	t := Table{Columns: []Column{{"mass, g", Point}, {"Fs, Hz", Point}, {"by hand, Hz", Point}, {"1/ω², (ms)²", Point},
		{"off the line, std", Point}, {"Mms by this mass alone, g", Point}, {"error times", Point}},
		Note: "“Error times” says how many times a relative error of the resonance counts in the moving mass when only this mass is used: 2r/(r-1), r = (Fs/Fs')². A small mass makes it large."}
	for i, p := range m.Points {
		fs := scaleFor(param.Fs, p.Fs.Value, p.Fs.Std)
		hand, alone, gain := "", "", ""
		if p.Hand.Valid {
			hand = fs.number(p.Hand.Fs)
		}
		if p.Single.Value != 0 {
			alone = scaleFor(param.Mms, p.Single.Value, p.Single.Std).number(p.Single.Value)
			gain = fixed(p.Gain, 1)
		}
		y := m.Line.Points[i]
		t.Rows = append(t.Rows, Row{Cells: []string{fixed(1e3*p.Mass.Value, 2), fs.number(p.Fs.Value), hand,
			fixed(1e6*y.Y, max(0, wording.Decimals(1e6*y.StdY))), fixed(p.Residual, 1), alone, gain}})
	}
	return t
}

// LineResult is one quantity by the mass line and by one fit of all sweeps.
type LineResult struct {
	ID    param.ID
	Line  ring.Spread
	Joint *param.Estimate // nil: the fit does not give it
	True  float64         // of the driver behind a virtual experiment; 0: a real one
}

// LineResults lists what the mass line gives. Truth is nil for a real driver.
func LineResults(m *ring.MassLine, truth *driver.Driver) []LineResult {
	list := []LineResult{{ID: param.Fs, Line: m.Fs}, {ID: param.Mms, Line: m.Mms}, {ID: param.Cms, Line: m.Cms}}
	if truth != nil {
		list[0].True, list[1].True, list[2].True = truth.Fs(), truth.Mms, truth.Cms
	}
	for i := range list {
		if e, ok := m.Joint.Parameters.Get(list[i].ID); ok {
			list[i].Joint = &e
		}
	}
	return list
}

// lineTable sets the line beside the joint fit, and beside the truth where it
// is known.
func lineTable(m *ring.MassLine, truth *driver.Driver) Table {
	t := Table{Columns: []Column{{"", Left}, {"line", Point}, {"one fit of all", Point}, {"", Left}, {"line, 95 % interval", Right}, {"fit, 95 % interval", Right}}}
	if truth != nil {
		t.Columns = append(t.Columns, Column{"true", Point})
	}
	for _, row := range LineResults(m, truth) {
		b := scaleFor(row.ID, row.Line.Value, row.Line.Std)
		cells := []string{row.ID.String(), b.number(row.Line.Value), "", unitOf(row.ID),
			b.interval(row.Line.Low, row.Line.High), ""}
		if e := row.Joint; e != nil {
			j := scaleFor(row.ID, e.Value, e.Std)
			cells[2], cells[5] = j.number(e.Value), j.interval(e.Low, e.High)
		}
		if truth != nil {
			cells = append(cells, b.number(row.True))
		}
		t.Rows = append(t.Rows, Row{Cells: cells})
	}
	return t
}

// lessonJSON is the part of the JSON that the experiment adds; SI units.
func lessonJSON(m *ring.MassLine, truth *driver.Driver) jsonout.Object {
	points := []jsonout.Object{}
	for i, p := range m.Points {
		o := jsonout.Object{{"mass", spreadJSON(p.Mass, "kg")}, {"Fs", spreadJSON(p.Fs, "Hz")}}
		if p.Hand.Valid {
			o.Add("Fs_by_hand", jsonout.Object{{"value", jsonout.Number(p.Hand.Fs)}, {"unit", "Hz"}})
		}
		y := m.Line.Points[i]
		o.Add("inverse_square", jsonout.Object{{"value", jsonout.Number(y.Y)}, {"unit", "s^2"}, {"std", jsonout.Number(y.StdY)}})
		o.Add("residual_std", jsonout.Number(p.Residual))
		if p.Single.Value != 0 {
			o.Add("Mms_alone", spreadJSON(p.Single, "kg"))
			o.Add("error_gain", jsonout.Number(p.Gain))
		}
		points = append(points, o)
	}
	l := m.Line
	o := jsonout.Object{{"points", points}, {"line", jsonout.Object{
		{"slope", jsonout.Object{{"value", jsonout.Number(l.Slope)}, {"unit", "m/N"}, {"std", jsonout.Number(l.StdSlope)}}},
		{"intercept", jsonout.Object{{"value", jsonout.Number(l.Intercept)}, {"unit", "s^2"}, {"std", jsonout.Number(l.StdIntercept)}}},
		{"correlation", jsonout.Number(l.Corr)}, {"chi2", jsonout.Number(l.Chi2)}, {"dof", l.DoF}, {"probability", jsonout.Number(m.ProbabilityOfScatter)},
		{"Fs", spreadJSON(m.Fs, "Hz")}, {"Mms", spreadJSON(m.Mms, "kg")}, {"Cms", spreadJSON(m.Cms, "m/N")}}}}
	if truth != nil {
		o.Add("truth", jsonout.Object{{"Fs", jsonout.Number(truth.Fs())}, {"Mms", jsonout.Number(truth.Mms)}, {"Cms", jsonout.Number(truth.Cms)}, {"creep", jsonout.Number(truth.Creep)}})
	}
	return o
}

// lessonRows is the CSV of the experiment.
func lessonRows(m *ring.MassLine) [][]string {
	rows := [][]string{{"mass_kg", "mass_std", "fs_hz", "fs_std", "fs_by_hand_hz", "inverse_square_s2", "residual_std", "mms_alone_kg", "error_gain"}}
	for i, p := range m.Points {
		hand, alone, gain := "", "", ""
		if p.Hand.Valid {
			hand = full(p.Hand.Fs)
		}
		if p.Single.Value != 0 {
			alone, gain = full(p.Single.Value), full(p.Gain)
		}
		rows = append(rows, []string{full(p.Mass.Value), full(p.Mass.Std), full(p.Fs.Value), full(p.Fs.Std), hand,
			full(m.Line.Points[i].Y), full(p.Residual), alone, gain})
	}
	return rows
}
