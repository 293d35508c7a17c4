package report

import (
	"fmt"
	"math"
	"path/filepath"
	"strconv"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/boxed"
	"conewright/ts/cabinet"
	"conewright/ts/measured"
	"conewright/ts/terminals"
	"conewright/ts/verdict"
)

// InCabinet is what a report about cabinets has beside its sides, which are in the same order.
type InCabinet struct {
	Measured []*boxed.Measured
	// Fingerprint is what the curve of a whole loudspeaker says of its parts; nil: there is no list of them.
	Fingerprint *terminals.Found
	Compared    *boxed.Compared  // nil: one box
	Checked     *verdict.Checked // the last one against its spec sheet; nil: there is none
	Level       *cabinet.Curve   // below 200 Hz with the driver as it is, of the last one; nil: not known
}

// Fingerprint reports a whole loudspeaker at its terminals by the list of its parts.
func Fingerprint(job Job, sides []Side, found *terminals.Found) *Report {
	r := newReport(job, "cabinet", sides...)
	r.Cabinet = &InCabinet{Fingerprint: found}
	r.Title = fmt.Sprintf("%s at its terminals, by the list %s", subject(job.Inputs, sides[len(sides)-1].Label), filepath.Base(job.Spec.Path))
	r.Headline, r.Body = wording.Fingerprint(found)
	t := Table{Title: "Where the curve differs", Columns: []Column{{"octave around, Hz", Right}, {"|Z|", Point}, {"rms", Point}, {"works there", Left}},
		Note: "Reversed polarity of a driver cannot be seen: the impedance is the same."}
	for _, b := range found.Bands {
		t.Rows = append(t.Rows, Row{Cells: []string{plainHz(math.Round(b.Freq)), percent(b.Ratio, 1) + " %", fixed(100*b.Rms, 1) + " %", b.Works}})
	}
	r.Tables = append(r.Tables, t)
	return r
}

// fingerprintJSON is what a fingerprint says.
func fingerprintJSON(network *SpecInput, f *terminals.Found) jsonout.Object {
	suspect := func(s terminals.Suspect) jsonout.Object {
		o := jsonout.Object{{"fault", string(s.Fault)}, {"part", s.Part}}
		if s.Value != 0 {
			o.Add("value", jsonout.Number(s.Value))
		}
		if s.Ratio != 0 {
			o.Add("ratio", jsonout.Number(s.Ratio))
		}
		return o
	}
	rivals, bands := []jsonout.Object{}, []jsonout.Object{}
	for _, r := range f.Rivals {
		rivals = append(rivals, suspect(r))
	}
	for _, b := range f.Bands {
		bands = append(bands, jsonout.Object{{"frequency_hz", jsonout.Number(b.Freq)}, {"ratio", jsonout.Number(b.Ratio)}, {"rms", jsonout.Number(b.Rms)}, {"works", b.Works}})
	}
	o := suspect(f.Suspect)
	o.Add("sure", f.Sure)
	o.Add("explained", f.Explained)
	o.Add("rms", jsonout.Number(f.Rms))
	o.Add("rivals", rivals)
	o.Add("bands", bands)
	return jsonout.Object{{"network", jsonout.Object{{"path", network.Path}, {"sha256", network.SHA256}}}, {"fingerprint", o}}
}

// WholeCompared reports where two whole loudspeakers differ, without a list of their parts.
func WholeCompared(job Job, sides []Side, c *boxed.Compared) *Report {
	r := newReport(job, "cabinet", sides...)
	r.Cabinet = &InCabinet{Compared: c}
	r.Title = fmt.Sprintf("%s at its terminals, against %s", subject(job.Inputs, sides[1].Label), subject(job.Inputs, sides[0].Label))
	r.Headline, r.Body = wording.WholeCompared(c)
	r.Tables = append(r.Tables, bandTable(c, labels(sides)))
	return r
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
	if c := in.Compared; c != nil {
		r.Headline = wording.BoxesHeadline(c, labels(sides))
		r.Body = append(wording.BoxesCompared(c, labels(sides)), r.Body...)
		r.Tables = append(r.Tables, bandTable(c, labels(sides)))
	}
	if in.Checked != nil {
		r.judge(in.Checked)
		r.Tables = append([]Table{checkTable(in.Checked)}, r.Tables...)
		r.Next = wording.Steps(in.Checked.Next)
	}
	if in.Level != nil {
		r.Tables = append(r.Tables, levelTable(*in.Level))
	}
	return r
}

func labels(sides []Side) [2]string { return [2]string{sides[0].Label, sides[1].Label} }

// bandTable says where two curves differ, and what works there.
func bandTable(c *boxed.Compared, labels [2]string) Table {
	t := Table{Title: "Where the curves differ, " + labels[1] + " over " + labels[0], Columns: []Column{{"octave around, Hz", Right}, {"|Z|", Point}, {"rms", Point}, {"works there", Left}},
		Note: wording.WorksNote(c)}
	for _, b := range c.Bands {
		t.Rows = append(t.Rows, Row{Cells: []string{plainHz(math.Round(b.Freq)), percent(math.Exp(b.Mean), 1) + " %", fixed(100*b.Rms, 1) + " %", wording.Works(b.Works)}})
	}
	return t
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
	if f := r.Cabinet.Fingerprint; f != nil {
		return fingerprintJSON(r.Sheet, f)
	}
	o := jsonout.Object{}
	if len(r.Cabinet.Measured) == 0 {
		return append(o, jsonout.Object{{"whole", true}, {"compared", curvesJSON(r.Cabinet.Compared, labels(r.Sides))}}...)
	}
	if len(r.Sides) == 1 {
		o = measuredJSON(r.Cabinet.Measured[0])
	} else {
		for i, m := range r.Cabinet.Measured {
			o.Add(r.Sides[i].Label, measuredJSON(m))
		}
	}
	if c := r.Cabinet.Compared; c != nil {
		o.Add("compared", comparedJSON(c, labels(r.Sides)))
	}
	if c := r.Cabinet.Checked; c != nil {
		o.Add("spec", jsonout.Object{{"path", r.Sheet.Path}, {"sha256", r.Sheet.SHA256}, {"name", r.Sheet.Name}})
		o.Add("checks", checksJSON(c))
		o.Add("verdict", r.Verdict.String())
		o.Add("next", orEmpty(r.Next))
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

func comparedJSON(c *boxed.Compared, labels [2]string) jsonout.Object {
	return append(findingsJSON([]boxed.Finding{c.Finding})[0], curvesJSON(c, labels)...)
}

// curvesJSON is how two curves differ, whatever the reason.
func curvesJSON(c *boxed.Compared, labels [2]string) jsonout.Object {
	bands := []jsonout.Object{}
	for _, b := range c.Bands {
		bands = append(bands, jsonout.Object{{"frequency_hz", jsonout.Number(b.Freq)}, {"ratio", jsonout.Number(math.Exp(b.Mean))}, {"rms", jsonout.Number(b.Rms)}, {"works", string(b.Works)}})
	}
	return jsonout.Object{{"explained", c.Explained}, {"side", labels[c.Which]}, {"rms", jsonout.Number(c.Size)}, {"rms_left", jsonout.Number(c.Rms)}, {"bands", bands}, {"crossover_hz", jsonout.Number(c.Crossover)}}
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

// cabinetRows is the CSV of a report about cabinets.
func cabinetRows(r *Report) [][]string {
	if f := r.Cabinet.Fingerprint; f != nil {
		rows := [][]string{{"fault", "part", "value", "ratio", "sure", "explained"}}
		for _, s := range append([]terminals.Suspect{f.Suspect}, f.Rivals...) {
			rows = append(rows, []string{string(s.Fault), s.Part, full(s.Value), full(s.Ratio), strconv.FormatBool(f.Sure), strconv.FormatBool(f.Explained)})
		}
		return rows
	}
	var rows [][]string
	if len(r.Cabinet.Measured) == 0 { // whole loudspeakers
		rows = append(rows, []string{"frequency_hz", "ratio", "rms", "works"})
		for _, b := range r.Cabinet.Compared.Bands {
			rows = append(rows, []string{full(b.Freq), full(math.Exp(b.Mean)), full(b.Rms), string(b.Works)})
		}
		return rows
	}
	for _, s := range r.Sides {
		for i, row := range parameterRows(s.Parameters) {
			switch {
			case i > 0:
				rows = append(rows, append([]string{s.Label}, row...))
			case rows == nil:
				rows = append(rows, append([]string{"side"}, row...))
			}
		}
	}
	return rows
}
