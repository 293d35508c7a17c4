package report

import (
	"fmt"
	"math"
	"path/filepath"
	"slices"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/lot"
	"conewright/ts/network"
	"conewright/ts/param"
	"conewright/ts/part"
	"conewright/ts/verdict"
)

// PartSide is one part of a network that was measured.
type PartSide struct {
	Input   saved.Input
	Found   *part.Found
	Checked *verdict.Checked // nil: against nothing
}

// name is the file without its folder.
func (s PartSide) name() string { return filepath.Base(s.Input.Path) }

// Drawer is many parts and their pairs.
type Drawer struct {
	Pairs  []DrawerPair
	Left   []string // without a partner
	Failed []FailedPart
}

// DrawerPair are two parts of a drawer that go together.
type DrawerPair struct {
	A, B   int // among the parts
	Paired *lot.Paired
}

// FailedPart is a file that is of no part.
type FailedPart struct {
	Input saved.Input
	Why   wording.Said
}

// side is the part as a side of a report: without what is only a bound.
func (s PartSide) side(label string, bench saved.Settings) Side {
	kept := s.Found.Parameters.Only(func(id param.ID) bool { _, bound := s.Found.Bounds[id]; return !bound })
	return Side{Label: label, Parameters: kept, Bench: bench, Noticed: wording.Notices(s.Found.Warnings)}
}

// Part reports one part; wrong is what it is said to be and is not, empty where it is that.
func Part(job Job, one PartSide, bench saved.Settings, wanted wording.Wanted) *Report {
	r := newReport(job, "part", one.side("", bench))
	r.Parts = []PartSide{one}
	r.Title = one.name() + ": " + wording.PartKind(one.Found.Kind)
	r.Body = []string{wording.Part(one.Found)}
	switch {
	case wanted.Other(one.Found.Kind):
		r.Judged, r.Verdict = true, verdict.OutOfSpec
		r.Headline = "OUT OF SPEC: " + wording.OtherPart(one.Found, wanted)
	case one.Checked != nil:
		r.judge(one.Checked)
		r.Body = append(wording.Checked(one.Checked), r.Body...)
	}
	r.Tables = append(r.Tables, partTable(one.Found), frequencyTable(one.Found))
	r.Cautions = wording.PartCautions(one.Found.Kind)
	return r
}

// PartPair reports whether two parts match.
func PartPair(job Job, parts [2]PartSide, bench saved.Settings, p *lot.Paired) *Report {
	r := newReport(job, "part", parts[0].side("left", bench), parts[1].side("right", bench))
	r.Parts, r.Paired = parts[:], p
	r.Title = fmt.Sprintf("%s and %s as a pair", parts[0].name(), parts[1].name())
	r.Judged, r.Verdict, r.Headline = true, p.Verdict, pairHeadline(p)
	r.Body = []string{wording.PairedParts(p), wording.Part(parts[0].Found), wording.Part(parts[1].Found)}
	both := sidesTable(p, true)
	last := len(both.Columns) - 1 // how a change was found, which is one way here
	both.Columns = both.Columns[:last]
	for i := range both.Rows {
		both.Rows[i].Cells = both.Rows[i].Cells[:last]
	}
	r.Tables = append(r.Tables, pairTable(p), both)
	r.Cautions = wording.PartCautions(parts[0].Found.Kind)
	return r
}

// PartExchange reports a new part against the old one.
func PartExchange(job Job, old, now PartSide, bench saved.Settings, x *part.Exchange) *Report {
	r := newReport(job, "part", old.side("before", bench), now.side("after", bench))
	r.Parts, r.Exchange = []PartSide{old, now}, x
	r.Title = fmt.Sprintf("%s in the place of %s", now.name(), old.name())
	r.Body = wording.Exchange(x)
	t := Table{Title: "Before and after", Columns: []Column{{"", Left}, {"before", Point}, {"after", Point}, {"", Left}}}
	for _, id := range param.All() {
		a, b := shownValue(old.Found, id), shownValue(now.Found, id)
		if a+b != "" {
			t.Rows = append(t.Rows, Row{Cells: []string{id.String(), a, b, unitOf(id)}})
		}
	}
	r.Tables = append(r.Tables, t)
	if len(x.Drivers) > 0 {
		levels := Table{Title: "At the drivers", Columns: []Column{{"", Left}, {"largest change", Point}, {"", Left}, {"at", Right}, {"", Left}}}
		for _, d := range x.Drivers {
			if math.Abs(d.Largest) < 0.005 {
				levels.Note = "What is not shown changes by less than 0.01 dB."
				continue
			}
			levels.Rows = append(levels.Rows, Row{Cells: []string{d.Name, fmt.Sprintf("%+.2f", d.Largest), "dB", plainHz(d.At), "Hz"}})
		}
		r.Tables = append(r.Tables, levels)
	}
	r.Cautions = wording.PartCautions(now.Found.Kind)
	return r
}

// PartBatch reports a drawer of parts.
func PartBatch(job Job, parts []PartSide, d Drawer, bench saved.Settings, wanted wording.Wanted) *Report {
	r := &Report{Schema: "conewright/part/1", Version: job.Version, Inputs: job.Inputs, Sheet: job.Spec, Bench: bench, Parts: parts, Drawer: &d}
	r.Title = fmt.Sprintf("%d parts", len(parts))
	t := Table{Title: "Parts", Columns: []Column{{"file", Left}, {"what", Left}, {"value", Point}, {"", Left}, {"loss", Point}, {"", Left}, {"at", Right}, {"", Left}, {"verdict", Left}}}
	r.Verdict = verdict.InSpec
	for _, p := range parts {
		id, loss := part.Main(p.Found.Kind), lossOf(p.Found.Kind)
		row := Row{Cells: []string{p.name(), p.Found.Kind.String(), shownValue(p.Found, id), unitOf(id), shownValue(p.Found, loss), unitOf(loss), plainHz(p.Found.Frequency), "Hz", ""}}
		if loss == id {
			row.Cells[4], row.Cells[5] = "", ""
		}
		if c := p.Checked; c != nil {
			r.Judged, r.Verdict = true, verdict.Worst(r.Verdict, c.Verdict)
			row.Mark, row.Cells[8] = markOf(c.Verdict), verdictWords(c.Verdict)
		}
		if wanted.Other(p.Found.Kind) {
			r.Judged, r.Verdict = true, verdict.OutOfSpec
			row.Mark, row.Cells[8] = Bad, "not "+wording.PartKind(wanted.Kind)
		}
		t.Rows = append(t.Rows, row)
		for _, w := range wording.Notices(p.Found.Warnings) {
			w.Message = p.name() + ": " + w.Message
			if w.Code != "terms-missing" {
				r.warn([]wording.Said{w})
			}
		}
	}
	r.Tables = append(r.Tables, t)
	if len(d.Pairs) > 0 {
		pairs := Table{Title: "Pairs, the nearest first", Columns: []Column{{"", Left}, {"", Left}, {"second over first", Point}, {"95 % interval", Right}, {"verdict", Left}}}
		for _, q := range d.Pairs {
			c := q.Paired.Deciding()
			value, low, high := 1+c.Percent/100, 1+c.Low/100, 1+c.High/100
			digits := max(0, min(2, wording.Decimals((c.High-c.Low)/4)))
			pairs.Rows = append(pairs.Rows, Row{Mark: markOf(c.Verdict), Cells: []string{parts[q.A].name(), parts[q.B].name(), percent(value, digits) + " %",
				percent(low, digits) + " to " + percent(high, digits) + " %", pairWords(c.Verdict)}})
		}
		r.Tables = append(r.Tables, pairs)
	}
	if len(d.Left) > 0 {
		r.Body = append(r.Body, "Without a partner: "+wording.List(d.Left)+".")
	}
	for _, f := range d.Failed {
		w := f.Why
		w.Message = "not read: " + w.Message
		r.warn([]wording.Said{w})
	}
	if len(parts) > 0 {
		r.Cautions = wording.PartCautions(parts[0].Found.Kind)
	}
	return r
}

// lossOf is the resistance that goes with a kind.
func lossOf(kind network.Kind) param.ID {
	switch kind {
	case network.Capacitor:
		return param.ESR
	case network.Coil:
		return param.Rdc
	}
	return param.R
}

// shownValue is a value as the tables show it: "below 0.012" where it is only a bound; empty where there is none.
func shownValue(f *part.Found, id param.ID) string {
	if most, bound := f.Bounds[id]; bound {
		return "below " + scaleFor(id, most, most/4).number(most)
	}
	if e, ok := f.Parameters.Get(id); ok {
		return scaleFor(id, e.Value, e.Std).number(e.Value)
	}
	return ""
}

// partTable lists the values of a part, and what is only a bound.
func partTable(f *part.Found) Table {
	t := parameterTable(f.Parameters, true)
	shown := map[string]bool{}
	for i := range t.Rows {
		shown[t.Rows[i].Cells[0]] = true
		id, _ := param.Parse(t.Rows[i].Cells[0])
		if f.Bounds[id] != 0 {
			t.Rows[i].Cells[1], t.Rows[i].Cells[3] = shownValue(f, id), ""
		}
		if f.Kind == network.Resistor && id == param.L { // a thousandth of what a coil has
			e, _ := f.Parameters.Get(id)
			b := bench{1e-6, max(0, wording.Decimals(e.Std/1e-6))}
			t.Rows[i].Cells[1], t.Rows[i].Cells[2], t.Rows[i].Cells[3] = b.number(e.Value), "uH", b.interval(e.Low, e.High)
		}
	}
	for _, id := range param.All() {
		if _, bound := f.Bounds[id]; bound && !shown[id.String()] {
			t.Rows = append(t.Rows, Row{Cells: []string{id.String(), shownValue(f, id), unitOf(id), "", wording.Name(id), ""}})
		}
	}
	t.Note = fmt.Sprintf("At %s Hz, as a series circuit.", plainHz(f.Frequency))
	if f.Kind == network.Coil {
		t.Note = fmt.Sprintf("At %s Hz, as a series circuit; Rdc at direct current.", plainHz(f.Frequency))
	}
	if len(f.Bounds) > 0 {
		t.Note += " “Below” is an upper bound with 95 %: the value cannot be told from none."
	}
	return t
}

// frequencyTable lists the part over frequency.
func frequencyTable(f *part.Found) Table {
	size, ratio := param.L, param.Q
	if f.Kind == network.Capacitor {
		size, ratio = param.C, param.TanDelta
	}
	loss := lossOf(f.Kind)
	name := loss.String()
	if f.Kind == network.Resistor {
		return resistanceTable(f)
	}
	if f.Kind == network.Coil {
		name = "resistance" // Rdc is that at direct current
	}
	t := Table{Title: "Over frequency", Columns: []Column{{"Hz", Right}, {size.String(), Point}, {unitOf(size), Left}, {name, Point}, {unitOf(loss), Left}, {ratio.String(), Point}}}
	for _, p := range f.Table {
		cells := []string{plainHz(p.Frequency), scaleFor(size, p.Size, p.SizeStd).number(p.Size), "", scaleFor(loss, p.Loss, p.LossStd).number(p.Loss), "", ""}
		if p.Loss < 2*p.LossStd {
			most := max(0, p.Loss) + 1.645*p.LossStd
			cells[3] = "below " + scaleFor(loss, most, most/4).number(most)
		}
		if p.Loss >= 2*p.LossStd {
			cells[5] = scaleFor(ratio, p.Ratio, p.Ratio*math.Hypot(p.LossStd/p.Loss, p.SizeStd/p.Size)).number(p.Ratio)
		}
		t.Rows = append(t.Rows, Row{Cells: cells})
	}
	return t
}

// resistanceTable lists a resistor over frequency.
func resistanceTable(f *part.Found) Table {
	t := Table{Title: "Over frequency", Columns: []Column{{"Hz", Right}, {param.R.String(), Point}, {unitOf(param.R), Left}}}
	for _, p := range f.Table {
		t.Rows = append(t.Rows, Row{Cells: []string{plainHz(p.Frequency), scaleFor(param.R, p.Loss, p.LossStd).number(p.Loss), ""}})
	}
	return t
}

// partJSON is what a part adds to the JSON.
func partJSON(f *part.Found) jsonout.Object {
	bounds := jsonout.Object{}
	for _, id := range param.All() {
		if most, ok := f.Bounds[id]; ok {
			bounds.Add(id.String(), jsonout.Object{{"at_most", jsonout.Number(most)}, {"unit", id.Info().Unit}})
		}
	}
	table := []jsonout.Object{}
	for _, p := range f.Table {
		o := jsonout.Object{{"frequency_hz", jsonout.Number(p.Frequency)}}
		size := param.L
		if f.Kind == network.Capacitor {
			size = param.C
		}
		o.Add(size.String(), jsonout.Object{{"value", jsonout.Number(p.Size)}, {"unit", size.Info().Unit}, {"std", jsonout.Number(p.SizeStd)}})
		o.Add("series_resistance", jsonout.Object{{"value", jsonout.Number(p.Loss)}, {"unit", "ohm"}, {"std", jsonout.Number(p.LossStd)}})
		table = append(table, o)
	}
	return jsonout.Object{{"kind", f.Kind.String()}, {"frequency_hz", jsonout.Number(f.Frequency)}, {"bounds", bounds}, {"over_frequency", table},
		{"law", jsonout.Object{{"name", f.Law.Name}, {"off", jsonout.Number(f.Law.Off)}}}}
}

// partsJSON is the JSON of several parts: an exchange or a drawer.
func partsJSON(r *Report) jsonout.Object {
	one := func(p PartSide) jsonout.Object {
		o := jsonout.Object{{"path", p.Input.Path}, {"parameters", parametersJSON(p.side("", nil).Parameters)}}
		o = append(o, partJSON(p.Found)...)
		if p.Checked != nil {
			o.Add("checks", checksJSON(p.Checked))
			o.Add("verdict", p.Checked.Verdict.String())
		}
		return o
	}
	if x := r.Exchange; x != nil {
		change := func(c part.Change, unit string) jsonout.Object {
			return jsonout.Object{{"value", jsonout.Number(c.Value)}, {"unit", unit}, {"std", jsonout.Number(c.Std)}, {"low", jsonout.Number(c.Low)}, {"high", jsonout.Number(c.High)}}
		}
		o := jsonout.Object{{"before", one(r.Parts[0])}, {"after", one(r.Parts[1])}, {"ratio", change(x.Size, "1")}}
		if x.Kind != network.Resistor {
			o.Add("series_resistance_change", change(x.Loss, "ohm"))
		}
		if x.In != "" {
			drivers := []jsonout.Object{}
			for _, d := range x.Drivers {
				drivers = append(drivers, jsonout.Object{{"name", d.Name}, {"largest_db", jsonout.Number(d.Largest)}, {"at_hz", jsonout.Number(d.At)}})
			}
			o.Add("part", x.In)
			o.Add("drivers", drivers)
			o.Add("restoring_ohm", jsonout.Number(x.Restoring))
		}
		return o
	}
	parts, pairs, failed := []jsonout.Object{}, []jsonout.Object{}, []jsonout.Object{}
	for _, p := range r.Parts {
		parts = append(parts, one(p))
	}
	for _, q := range r.Drawer.Pairs {
		pairs = append(pairs, append(jsonout.Object{{"first", r.Parts[q.A].Input.Path}, {"second", r.Parts[q.B].Input.Path}}, pairJSON(q.Paired)...))
	}
	for _, f := range r.Drawer.Failed {
		failed = append(failed, jsonout.Object{{"path", f.Input.Path}, {"error", f.Why}})
	}
	return jsonout.Object{{"parts", parts}, {"pairs", pairs}, {"without_partner", orEmpty(r.Drawer.Left)}, {"failed", failed}}
}

// exchangeRows is the CSV of an exchange.
func exchangeRows(x *part.Exchange) [][]string {
	rows := [][]string{{"quantity", "unit", "value", "std", "low", "high"}}
	add := func(name, unit string, c part.Change) {
		rows = append(rows, []string{name, unit, full(c.Value), full(c.Std), full(c.Low), full(c.High)})
	}
	add(part.Main(x.Kind).String()+" ratio", "1", x.Size)
	if x.Kind != network.Resistor {
		add(lossOf(x.Kind).String()+" change", "ohm", x.Loss)
	}
	for _, d := range x.Drivers {
		rows = append(rows, []string{"level at " + d.Name, "dB", full(d.Largest), "", "", ""})
	}
	return rows
}

// drawerRows is the CSV of a drawer: a line a part.
func drawerRows(r *Report) [][]string {
	ids := []param.ID{param.C, param.ESR, param.TanDelta, param.L, param.Rdc, param.Q, param.R}
	head := []string{"file", "kind", "frequency_hz", "verdict", "partner"}
	for _, id := range ids {
		head = append(head, id.String(), id.String()+"_std")
	}
	rows := [][]string{head}
	for i, p := range r.Parts {
		row := []string{p.Input.Path, p.Found.Kind.String(), full(p.Found.Frequency), "", ""}
		if p.Checked != nil {
			row[3] = p.Checked.Verdict.String()
		}
		if k := slices.IndexFunc(r.Drawer.Pairs, func(q DrawerPair) bool { return q.A == i || q.B == i }); k >= 0 {
			q := r.Drawer.Pairs[k]
			row[4] = r.Parts[q.A+q.B-i].Input.Path
		}
		kept := p.side("", nil).Parameters
		for _, id := range ids {
			if e, ok := kept.Get(id); ok {
				row = append(row, full(e.Value), full(e.Std))
			} else {
				row = append(row, "", "")
			}
		}
		rows = append(rows, row)
	}
	return rows
}
