package report

import (
	"encoding/json"
	"fmt"
	"io"
	"maps"
	"math"
	"slices"

	"conewright/ts"
)

// Lot gathers what is said about all units of a batch together. It keeps a few
// numbers a unit, so that a lot may be large.
type Lot struct {
	Units, InSpec, OutOfSpec, Undecided, Failed int

	spec   *ts.Spec
	ids    []ts.ParamID
	names  []string
	values map[ts.ParamID][]float64 // NaN where a unit has none
	rows   []Row                    // of the first units, for the sheet
}

// mostRows is the number of units up to which the sheet lists them.
const mostRows = 1000

// NewLot begins a lot that is judged by spec, or by nothing.
func NewLot(spec *ts.Spec) *Lot {
	l := &Lot{spec: spec, values: map[ts.ParamID][]float64{}}
	for _, id := range ts.AllParams() {
		limited := false
		if spec != nil {
			_, limited = spec.Limit(id)
		}
		if usual(id) || limited {
			l.ids = append(l.ids, id)
		}
	}
	return l
}

// Add counts one unit, in the order of measurement.
func (l *Lot) Add(u *Unit) {
	l.Units++
	l.names = append(l.names, u.Name)
	if len(l.rows) < mostRows {
		l.rows = append(l.rows, u.row(lineIDs(l.spec)))
	}
	for _, id := range l.ids {
		v := math.NaN()
		if e, ok := u.Parameters.Get(id); ok && u.Failed == nil {
			v = e.Value
		}
		l.values[id] = append(l.values[id], v)
	}
	switch {
	case u.Failed != nil:
		l.Failed++
	case u.Checked == nil:
	case u.Checked.Verdict == ts.InSpec:
		l.InSpec++
	case u.Checked.Verdict == ts.OutOfSpec:
		l.OutOfSpec++
	default:
		l.Undecided++
	}
}

// traits describes each quantity that any unit has.
func (l *Lot) traits() []ts.Trait {
	var list []ts.Trait
	for _, id := range l.ids {
		var limit *ts.Limit
		if l.spec != nil {
			if x, ok := l.spec.Limit(id); ok {
				limit = &x
			}
		}
		if t := ts.NewTrait(id, l.values[id], limit); t.N > 0 {
			list = append(list, t)
		}
	}
	return list
}

// Batch reports a lot.
func Batch(job Job, bench []Setting, l *Lot) *Report {
	r := &Report{Schema: "conewright/batch-summary/1", Version: job.Version, Sheet: job.Spec, Bench: bench, Spec: l.spec, Lot: l,
		Title: fmt.Sprintf("%d units", l.Units)}
	if l.spec != nil {
		r.Title += " against the sheet " + quoted(l.spec.Name)
		r.Headline = fmt.Sprintf("%d in spec, %d out of spec, %d undecided", l.InSpec, l.OutOfSpec, l.Undecided)
	}
	if l.Failed > 0 {
		if r.Headline != "" {
			r.Headline += ", "
		}
		r.Headline += fmt.Sprintf("%d failed", l.Failed)
	}
	traits := l.traits()
	r.Tables = append(r.Tables, lotTable(traits))
	r.Body = l.remarks(traits)
	return r
}

// remarks says what stands out: units apart from the others, and drift.
func (l *Lot) remarks(traits []ts.Trait) []string {
	var out []string
	apart := map[int][]string{} // what stands out, by position
	var drifts []string
	for _, t := range traits {
		b, unit := scaleFor(t.ID, t.Mean, t.SD), t.ID.Info().BenchUnit
		for _, at := range t.Outliers {
			apart[at] = append(apart[at], fmt.Sprintf("%s %s (middle of the lot %s)", t.ID, withUnit(b.number(l.values[t.ID][at]), unit), b.number(t.Median)))
		}
		if t.Drift.Real() {
			way := map[bool]string{true: "down", false: "up"}[t.Drift.Change < 0]
			u := scaleFor(t.ID, t.Drift.Change, t.Drift.Std)
			drifts = append(drifts, fmt.Sprintf("%s %s by %s (standard uncertainty %s)", t.ID, way, withUnit(u.number(math.Abs(t.Drift.Change)), unit), u.number(t.Drift.Std)))
		}
	}
	const most = 10
	for i, at := range slices.Sorted(maps.Keys(apart)) {
		if i == most {
			out = append(out, fmt.Sprintf("%d more units stand apart from the lot.", len(apart)-most))
			break
		}
		out = append(out, l.names[at]+" stands apart from the lot: "+list(apart[at])+".")
	}
	if drifts != nil {
		out = append(out, "From the first unit to the last there is a drift: "+list(drifts)+". Look for a bench that warms up, a resistor or a contact that changes, or a change of parts.")
	}
	return out
}

// UnitTable lists the units, up to a number that a page can hold.
func (l *Lot) UnitTable() Table {
	t := Table{Title: "Units", Columns: []Column{{"unit", Left}, {"verdict", Left}}}
	for _, id := range lineIDs(l.spec) {
		t.Columns = append(t.Columns, Column{lineHead(id), Point})
	}
	t.Columns = append(t.Columns, Column{"", Left})
	t.Rows = l.rows
	if l.Units > len(l.rows) {
		t.Note = fmt.Sprintf("These are the first %d of %d units; the others are in the text, JSON or CSV.", len(l.rows), l.Units)
	}
	return t
}

// lotTable lists the spread of each quantity, and how far the limits are.
func lotTable(traits []ts.Trait) Table {
	t := Table{Title: "Spread of the lot", Columns: []Column{{"", Left}, {"units", Right}, {"mean", Point}, {"spread (sd)", Point}, {"least", Point}, {"most", Point}, {"", Left}, {"sigmas to the limits", Left}}}
	for _, x := range traits {
		b := scaleFor(x.ID, x.Mean, x.SD)
		spread := ""
		if x.N > 1 {
			spread = b.number(x.SD)
		}
		t.Rows = append(t.Rows, Row{Cells: []string{x.ID.String(), fmt.Sprint(x.N), b.number(x.Mean), spread, b.number(x.Min), b.number(x.Max),
			x.ID.Info().BenchUnit, sigmas(x)}})
	}
	return t
}

// sigmas writes "4.1 below, 3.9 above".
func sigmas(t ts.Trait) string {
	var parts []string
	for _, side := range []struct {
		distance float64
		name     string
	}{{t.SigmasToLo, "below"}, {t.SigmasToHi, "above"}} {
		if !math.IsInf(side.distance, 0) {
			parts = append(parts, fmt.Sprintf("%.1f %s", side.distance, side.name))
		}
	}
	return list(parts)
}

// lotJSON is the summary of a batch.
func lotJSON(l *Lot) object {
	o := object{{"units", l.Units}, {"in_spec", l.InSpec}, {"out_of_spec", l.OutOfSpec}, {"undecided", l.Undecided}, {"failed", l.Failed}}
	statistics := object{}
	for _, t := range l.traits() {
		x := object{{"units", t.N}, {"unit", t.ID.Info().Unit}, {"mean", number(t.Mean)}, {"sd", number(t.SD)}, {"min", number(t.Min)}, {"median", number(t.Median)}, {"max", number(t.Max)}}
		for _, side := range []struct {
			key      string
			distance float64
		}{{"sigmas_to_lower", t.SigmasToLo}, {"sigmas_to_upper", t.SigmasToHi}} {
			if !math.IsInf(side.distance, 0) {
				x.add(side.key, number(side.distance))
			}
		}
		x.add("drift", object{{"change", number(t.Drift.Change)}, {"std", number(t.Drift.Std)}, {"p_value", number(t.Drift.P)}, {"real", t.Drift.Real()}})
		names := []string{}
		for _, at := range t.Outliers {
			names = append(names, l.names[at])
		}
		x.add("outliers", names)
		statistics.add(t.ID.String(), x)
	}
	o.add("statistics", statistics)
	return o
}

// JSONLine writes the report as JSON on one line.
func JSONLine(w io.Writer, r *Report) error {
	data, err := json.Marshal(r.json())
	if err != nil {
		return err
	}
	_, err = w.Write(append(data, '\n'))
	return err
}
