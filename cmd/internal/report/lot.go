package report

import (
	"cmp"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"slices"
	"strconv"
	"strings"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/quantity"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts/lot"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// Lot gathers what is said about all units of a batch together. It keeps a few
// numbers a unit, so that a lot may be large.
type Lot struct {
	Units, InSpec, OutOfSpec, Undecided, Failed int

	spec     *verdict.Spec
	pair     []lot.PairLimit
	batch    *lot.Batch
	names    []string
	values   []compact       // for outliers, in the order of names
	assumed  bool            // that the bench repeats as is usual
	points   *lot.PairPoints // of those that may be paired
	paired   []int32         // the unit behind each point
	rows     []Row           // of the first units, for the sheet
	trials   []trial         // of a study of the gauge
	deciders []decider       // of undecided units
	first    []Row           // of the units that have to be dealt with, for the sheet
	best     *pairing        // once it was worked out

	groupBy    string         // column of the manifest
	groupOf    []string       // the group of each unit; nil: none has one
	groupNames []string       // in their order
	groupIndex map[string]int // of each in groupNames
}

// mostRows is the number of units up to which the sheet lists them.
const mostRows = 1000

// NewLot begins a lot that is judged by spec, or by nothing, and whose units
// are paired by the limits of pair, or by the usual ones.
func NewLot(spec *verdict.Spec, pair []lot.PairLimit) (*Lot, error) {
	l := &Lot{spec: spec, pair: pair, batch: new(lot.Batch), groupBy: GroupColumn, groupIndex: map[string]int{}}
	if l.pair == nil {
		l.pair = lot.UsualPairLimits
	}
	var err error
	if l.points, err = lot.NewPairPoints(l.pair); err != nil {
		return nil, err
	}
	if spec != nil {
		l.batch, err = lot.NewBatch(*spec)
	}
	return l, err
}

// GroupBy names the column of the manifest whose entries make groups, before the first unit is added.
func (l *Lot) GroupBy(column string) { l.groupBy = column }

// WithoutPairs says, before the first unit is added, that the units are not at hand to be paired.
func (l *Lot) WithoutPairs() { l.points = nil }

// addGroup notes the group of a unit.
func (l *Lot) addGroup(at int, name string) {
	if name == "" && l.groupOf == nil {
		return
	}
	for len(l.groupOf) < at { // those before the first that has one
		l.groupOf = append(l.groupOf, "")
	}
	l.groupOf = append(l.groupOf, name)
	if _, ok := l.groupIndex[name]; !ok && name != "" {
		l.groupIndex[name] = len(l.groupNames)
		l.groupNames = append(l.groupNames, name)
	}
}

// Add counts one unit, in the order of measurement; one whose values cannot be counted
// has failed.
func (l *Lot) Add(u *batch.Unit) {
	l.Units++
	if u.Failed == nil {
		if err := l.batch.Add(u.Parameters); err != nil {
			u.Failed = batch.FailureOf(err)
		}
	}
	if len(l.rows) < mostRows {
		row := unitRow(u, lineIDs(l.spec))
		row.Cells = slices.Insert(row.Cells, len(row.Cells)-1, shortSums(u)) // the remark stays last
		l.rows = append(l.rows, row)
	}
	if row, ok := dealtWith(u); ok && len(l.first) < mostFirst {
		l.first = append(l.first, row)
	}
	at := len(l.names)
	l.names = append(l.names, u.Name)
	l.addGroup(at, u.About.Get(l.groupBy))
	if u.Failed != nil {
		l.Failed++
		l.values = append(l.values, compact{})
		return
	}
	var like compact
	if at > 0 {
		like = l.values[at-1]
	}
	l.values = append(l.values, shrink(u.Parameters, like))
	l.assumed = l.assumed || Side{Parameters: u.Parameters}.assumed()
	if part, operator := u.About.Get(partColumn), u.About.Get(operatorColumn); part != "" && operator != "" {
		l.trials = append(l.trials, trial{part, operator, at})
	}
	switch {
	case u.Checked == nil:
	case u.Checked.Verdict == verdict.InSpec:
		l.InSpec++
	case u.Checked.Verdict == verdict.OutOfSpec:
		l.OutOfSpec++
	default:
		l.Undecided++
		l.addUndecided(u.Checked)
	}
	// A unit that fails its sheet is no candidate for a pair.
	if l.points != nil && (u.Checked == nil || u.Checked.Verdict != verdict.OutOfSpec) {
		if l.points.Add(u.Parameters) == nil {
			l.paired = append(l.paired, int32(at))
		}
	}
}

// apart is a unit that stands apart from the lot.
type apart struct {
	at int // in names and values
	in []lot.Outlier
}

// outliers looks for units that stand apart, the farthest first. Only what is far from the middle by
// the spread of the lot alone is looked at closely.
func (l *Lot) outliers(summary []lot.BatchValue) []apart {
	var found []apart
	for i, c := range l.values {
		far := false
		for _, v := range summary {
			for k, id := range c.ids {
				far = far || id == v.ID && math.Abs(float64(c.scaled[k])-id.Scale(v.Median)) > 3*v.RobustStd
			}
		}
		if !far {
			continue
		}
		var in []lot.Outlier
		outlying, err := l.batch.Outliers(c.grow())
		if err != nil {
			continue // it has failed already
		}
		for _, o := range outlying {
			if quantity.Usual(o.ID) {
				in = append(in, o)
			}
		}
		if in != nil {
			found = append(found, apart{i, in})
		}
	}
	slices.SortStableFunc(found, func(a, b apart) int { return cmp.Compare(b.farthest(), a.farthest()) })
	return found
}

// farthest is the distance of the quantity that stands apart most.
func (a apart) farthest() (sigmas float64) {
	for _, o := range a.in {
		sigmas = math.Max(sigmas, math.Abs(o.Sigmas))
	}
	return sigmas
}

// apartIn returns the positions of the units that stand apart in one quantity.
func apartIn(found []apart, id param.ID) []int {
	var at []int
	for _, a := range found {
		if slices.ContainsFunc(a.in, func(o lot.Outlier) bool { return o.ID == id }) {
			at = append(at, a.at)
		}
	}
	return at
}

// series returns one quantity of all units (SI) in the order of measurement, NaN
// where it is not known, with 1.96 standard uncertainties.
func (l *Lot) series(id param.ID) (values, half []float64) {
	values, half = make([]float64, len(l.values)), make([]float64, len(l.values))
	for i, c := range l.values {
		var std float64
		values[i], std = c.value(id)
		half[i] = 1.96 * std
	}
	return values, half
}

// Batch reports a lot.
func Batch(job Job, bench saved.Settings, l *Lot) *Report {
	r := &Report{Schema: "conewright/batch-summary/1", Version: job.Version, Sheet: job.Spec, Bench: bench, Spec: l.spec, Lot: l, process: l.capabilities(),
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
	if l.spec != nil && l.Units >= fewestForSigmas {
		r.Headline += fmt.Sprintf("; yield %.3g %%", 100*float64(l.InSpec)/float64(l.Units))
	}
	summary := l.summary()
	r.Body = append(l.remarks(summary), l.signalWords(r.process)...)
	r.Next = l.next()
	if len(summary) > 0 {
		r.Tables = append(r.Tables, spreadTable(summary))
	}
	if len(r.process) > 0 {
		r.Tables = append(r.Tables, capabilityTable(r.process))
	}
	if l.trials != nil {
		r.addGauge(l)
	}
	if pairs := l.bestPairs(); len(pairs.list) > 0 {
		r.Tables = append(r.Tables, pairs.table())
	}
	if l.assumed {
		r.warn([]wording.Said{wording.AssumedRepeatability()})
	}
	return r
}

// summary is the spread of the usual quantities and of those that are limited.
func (l *Lot) summary() []lot.BatchValue {
	var list []lot.BatchValue
	for _, v := range l.batch.Summary() {
		if quantity.Usual(v.ID) || v.Limited {
			list = append(list, v)
		}
	}
	return list
}

// remarks says what stands out: units apart from the others, and drift.
func (l *Lot) remarks(summary []lot.BatchValue) []string {
	middle := map[param.ID]lot.BatchValue{}
	for _, v := range summary {
		middle[v.ID] = v
	}
	var out []string
	const most = 10
	found := l.outliers(summary)
	for i, a := range found {
		if i == most {
			out = append(out, fmt.Sprintf("%d more units stand apart from the lot.", len(found)-most))
			break
		}
		var in []string
		for _, o := range a.in {
			v := middle[o.ID]
			value, _ := l.values[a.at].value(o.ID)
			b := scaleFor(o.ID, v.Median, absoluteStd(v))
			in = append(in, fmt.Sprintf("%s %s (middle of the lot %s)", o.ID, wording.WithUnit(b.number(value), unitOf(o.ID)), b.number(v.Median)))
		}
		out = append(out, l.names[a.at]+" stands apart from the lot: "+wording.List(in)+".")
	}
	var drifts []string
	for _, v := range summary {
		if v.Trend.Drifts() {
			drifts = append(drifts, fmt.Sprintf("%s by %s", v.ID, driftText(v)))
		}
	}
	if drifts != nil {
		out = append(out, "From the first unit to the last there is a drift: "+wording.List(drifts)+". Look for a bench that warms up, a resistor or a contact that changes, or a change of parts.")
	}
	return out
}

// absoluteStd is the standard deviation in SI.
func absoluteStd(v lot.BatchValue) float64 {
	if v.ID.Info().Positive {
		return v.Std * v.Mean
	}
	return v.Std
}

// driftOf is the drift over the whole lot in SI.
func driftOf(v lot.BatchValue) float64 {
	if v.ID.Info().Positive {
		return v.Median * v.Trend.Total
	}
	return v.Trend.Total
}

// driftText writes the drift over the whole lot.
func driftText(v lot.BatchValue) string {
	if v.ID.Info().Positive {
		return percent(1+v.Trend.Total, 1) + " %"
	}
	return strconv.FormatFloat(v.Trend.Total, 'g', 2, 64)
}

// spreadTable lists the spread of each quantity, and how far the limits are.
func spreadTable(summary []lot.BatchValue) Table {
	t := Table{Title: "Spread of the lot", Early: true, Columns: []Column{{"", Left}, {"units", Right}, {"mean", Point}, {"spread (sd)", Point}, {"", Left}, {"middle", Point}, {"spreads to the limits", Left}},
		Note: "The last column counts spreads (sd) from the middle value to each limit; outliers do not count in it, and it holds the noise of the measurement too. sd: standard deviation."}
	for _, v := range summary {
		b := scaleFor(v.ID, v.Mean, absoluteStd(v))
		spread := ""
		if v.N > 1 {
			spread = b.number(absoluteStd(v))
		}
		t.Rows = append(t.Rows, Row{Cells: []string{v.ID.String(), fmt.Sprint(v.N), b.number(v.Mean), spread, unitOf(v.ID), b.number(v.Median), sigmas(v)}})
	}
	return t
}

// fewestForSigmas is the number of units below which a spread says nothing about
// limits.
const fewestForSigmas = 5

// sigmas writes "4.1 below, 3.9 above".
func sigmas(v lot.BatchValue) string {
	if v.N < fewestForSigmas {
		return ""
	}
	var parts []string
	for _, side := range []struct {
		distance float64
		name     string
	}{{v.LoSigmas, "below"}, {v.HiSigmas, "above"}} {
		if !math.IsInf(side.distance, 0) {
			parts = append(parts, fmt.Sprintf("%.1f %s", side.distance, side.name))
		}
	}
	return strings.Join(parts, ", ")
}

// mostFirst is how many units that have to be dealt with are listed first, denseFrom from how
// many units on their list is small on paper.
const mostFirst, denseFrom = 30, 40

// dealtWith is the row of a unit that failed, is out of spec or undecided, with the reason;
// false for any other.
func dealtWith(u *batch.Unit) (Row, bool) {
	switch {
	case u.Failed != nil:
		return Row{Cells: []string{u.Name, u.About.Get("serial"), "failed", u.Failed.Message}, Mark: Bad}, true
	case u.Checked != nil && u.Checked.Verdict != verdict.InSpec:
		var why []string
		for _, j := range u.Checked.Checks {
			if j.Verdict == u.Checked.Verdict {
				text := j.Limit.ID.String()
				if j.Known {
					text += fmt.Sprintf(" %s, limits %s", Value(j.Limit.ID, j.Estimate.Value, j.Estimate.Std), limits(j.Limit))
				}
				why = append(why, text)
			}
		}
		if len(u.Checked.Checks) == 0 { // of the book, which keeps the verdict alone
			why = []string{"conewright check " + u.Name + " says why"}
		}
		return Row{Cells: []string{u.Name, u.About.Get("serial"), verdictWords(u.Checked.Verdict), strings.Join(why, "; ")}, Mark: markOf(u.Checked.Verdict)}, true
	}
	return Row{}, false
}

// FirstTable lists the units that have to be dealt with, those out of spec before those that
// are undecided; nil: there are none.
func (l *Lot) FirstTable() *Table {
	if len(l.first) == 0 {
		return nil
	}
	t := &Table{Title: "To be dealt with", Columns: []Column{{"unit", Left}, {"serial", Left}, {"", Left}, {"why", Left}}, Rows: slices.Clone(l.first)}
	slices.SortStableFunc(t.Rows, func(a, b Row) int { return cmp.Compare(a.Mark, b.Mark) })
	if all := l.OutOfSpec + l.Undecided + l.Failed; all > len(t.Rows) {
		t.Note = fmt.Sprintf("%d more are in the list of units below.", all-len(t.Rows))
	}
	return t
}

// sumHead is the head of the column of checksums. Dense tables have neither it nor the remark behind it on paper.
const sumHead = "file"

// UnitTable lists the units, up to a number that a page can hold.
func (l *Lot) UnitTable() Table {
	t := Table{Title: "Units", Columns: []Column{{"unit", Left}, {"verdict", Left}}, Dense: l.Units > denseFrom}
	for _, id := range lineIDs(l.spec) {
		t.Columns = append(t.Columns, Column{lineHead(id), Point})
	}
	t.Columns = append(t.Columns, Column{sumHead, Left}, Column{"", Left})
	t.Rows = l.rows
	t.Note = fmt.Sprintf("“File” is how the SHA-256 of the file begins, %d of its 64 digits; the whole of it is in the JSON and the CSV.", shortSum)
	if t.Dense {
		t.Note += " On paper this list has neither the files nor what stands behind a verdict."
	}
	if l.Units > len(l.rows) {
		t.Note += fmt.Sprintf(" These are the first %d of %d units; the others are in the text, JSON or CSV.", len(l.rows), l.Units)
	}
	return t
}

// statisticsJSON is the spread of each quantity.
func statisticsJSON(summary []lot.BatchValue) jsonout.Object {
	statistics := jsonout.Object{}
	for _, v := range summary {
		x := jsonout.Object{{"units", v.N}, {"unit", v.ID.Info().Unit}, {"mean", jsonout.Number(v.Mean)}, {"std", jsonout.Number(absoluteStd(v))}, {"median", jsonout.Number(v.Median)}}
		if v.Limited && v.N >= fewestForSigmas {
			x.Add("sigmas_to_lower", jsonout.Number(v.LoSigmas)) // null where there is no such limit
			x.Add("sigmas_to_upper", jsonout.Number(v.HiSigmas))
		}
		drift := "drift"
		if v.ID.Info().Positive {
			drift = "drift_ratio"
			x.Add(drift, jsonout.Number(1+v.Trend.Total))
		} else {
			x.Add(drift, jsonout.Number(v.Trend.Total))
		}
		x.Add("drift_p_value", jsonout.Number(v.Trend.P))
		x.Add("drifts", v.Trend.Drifts())
		statistics.Add(v.ID.String(), x)
	}
	return statistics
}

// lotJSON is the summary of a batch.
func lotJSON(l *Lot, process []capable) jsonout.Object {
	o := jsonout.Object{{"units", l.Units}, {"in_spec", l.InSpec}, {"out_of_spec", l.OutOfSpec}, {"undecided", l.Undecided}, {"failed", l.Failed}}
	summary := l.summary()
	o.Add("statistics", statisticsJSON(summary))
	if len(process) > 0 {
		o.Add("process", l.capabilityJSON(process))
	}
	apart := []jsonout.Object{}
	for _, a := range l.outliers(summary) {
		in := jsonout.Object{}
		for _, x := range a.in {
			in.Add(x.ID.String(), jsonout.Number(x.Sigmas))
		}
		apart = append(apart, jsonout.Object{{"unit", l.names[a.at]}, {"sigmas", in}})
	}
	o.Add("outliers", apart)
	if studies, _ := l.studies(); studies != nil {
		o.Add("gauge", studiesJSON(studies))
	}
	pairs := l.bestPairs()
	list := []jsonout.Object{}
	for _, p := range pairs.list {
		list = append(list, jsonout.Object{{"units", []string{p.a, p.b}}, {"distance", jsonout.Number(p.distance)}})
	}
	o.Add("pairs", list)
	if len(list) > 0 {
		o.Add("pairs_exact", pairs.exact)
	}
	if pairs.left != "" {
		o.Add("unpaired", pairs.left)
	}
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
