package report

import (
	"fmt"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/boxed"
	"conewright/ts/cabinet"
	"conewright/ts/measured"
)

// InCabinet is what a report about cabinets has beside its sides, which are in the same order.
type InCabinet struct {
	Measured []*boxed.Measured
	Level    *cabinet.Curve // below 200 Hz with the driver as it is, of the last one; nil: not known
}

// NewCabinetSide is a driver in its cabinet as a side of a report.
func NewCabinetSide(side Side, m *boxed.Measured) Side {
	side.Parameters = m.Parameters
	fit := *m.Fit
	fit.Warnings = nil // those that mean something here are among the notices
	side.Fitted = &fit
	side.Noticed = append(side.Noticed, wording.Notices(m.Notices)...)
	return side
}

// Cabinet reports drivers in their cabinets.
func Cabinet(job Job, sides []Side, in *InCabinet) *Report {
	r := newReport(job, "cabinet", sides...)
	r.Cabinet = in
	for i, m := range in.Measured {
		label := sides[i].Label
		r.Body = append(r.Body, wording.Cabinets(label, m)...)
		t := parameterTable(m.Parameters, job.All)
		t.Title = label
		f := m.Fit
		t.Note = fmt.Sprintf("Coil model %s%s; %d points from %s to %s Hz, the circuit misses them by %.2g %% rms.",
			wording.Plain(f.Model.Coil), suspension(f.Model), f.Quality.Points, plainHz(f.Quality.BandHz[0]), plainHz(f.Quality.BandHz[1]), f.Quality.ResidualRMSPercent)
		r.Tables = append(r.Tables, t)
	}
	last := in.Measured[len(in.Measured)-1]
	r.Title = fmt.Sprintf("%s in a %s cabinet", subject(job.Inputs, sides[len(sides)-1].Label), last.Kind)
	if len(sides) == 2 {
		r.Title += fmt.Sprintf(", against %s", subject(job.Inputs, sides[0].Label))
	}
	if in.Level != nil {
		r.Tables = append(r.Tables, levelTable(*in.Level))
	}
	return r
}

// levelTable is the response at a few frequencies.
func levelTable(c cabinet.Curve) Table {
	t := Table{Title: "Level with the driver as it is", Columns: []Column{{"Hz", Right}, {"dB", Point}, {"95 % interval", Right}},
		Note: "Over the level far above the resonance, into half a space, without the room and the edges of the cabinet."}
	for i, f := range c.Freq {
		t.Rows = append(t.Rows, Row{Cells: []string{plainHz(f), fixed(c.Level[i], 1), fixed(c.Level[i]-c.Half[i], 1) + " to " + fixed(c.Level[i]+c.Half[i], 1)}})
	}
	return t
}

// cabinetJSON is what a report about cabinets has in the place of the values of a driver.
func cabinetJSON(r *Report) jsonout.Object {
	o := jsonout.Object{}
	if len(r.Sides) == 1 {
		o = measuredJSON(r.Cabinet.Measured[0])
	} else {
		for i, m := range r.Cabinet.Measured {
			o.Add(r.Sides[i].Label, measuredJSON(m))
		}
	}
	if c := r.Cabinet.Level; c != nil {
		rows := []jsonout.Object{}
		for i, f := range c.Freq {
			rows = append(rows, jsonout.Object{{"frequency_hz", jsonout.Number(f)}, {"db", jsonout.Number(c.Level[i])}, {"std", jsonout.Number(c.Std[i])},
				{"low", jsonout.Number(c.Level[i] - c.Half[i])}, {"high", jsonout.Number(c.Level[i] + c.Half[i])}})
		}
		o.Add("level", rows)
	}
	return o
}

func measuredJSON(m *boxed.Measured) jsonout.Object {
	return jsonout.Object{{"kind", string(m.Kind)}, {"parameters", parametersJSON(m.Parameters)}, {"peaks", peaksJSON(m.Peaks)},
		{"model", modelJSON(m.Fit.Model)}, {"quality", qualityJSON(m.Fit.Quality)}, {"findings", findingsJSON(m.Findings)}}
}

func peaksJSON(peaks []measured.Peak) []jsonout.Object {
	list := []jsonout.Object{}
	for _, p := range peaks {
		list = append(list, jsonout.Object{{"frequency_hz", jsonout.Number(p.Freq)}, {"impedance_ohm", jsonout.Number(p.Size)}})
	}
	return list
}

func findingsJSON(findings []boxed.Finding) []jsonout.Object {
	list := []jsonout.Object{}
	for _, f := range findings {
		o := jsonout.Object{{"finding", string(f.Fault)}, {"sure", f.Sure}}
		if f.Size != 0 {
			o.Add("size", jsonout.Number(f.Size))
		}
		o.Add("message", wording.Finding(f))
		o.Add("rivals", orEmpty(f.Rivals))
		list = append(list, o)
	}
	return list
}
