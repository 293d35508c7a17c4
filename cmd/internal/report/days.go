package report

import (
	"cmp"
	"fmt"
	"maps"
	"slices"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/dayfiles"
	"conewright/cmd/internal/wording"
	"conewright/ts/lot"
	"conewright/ts/param"
	"conewright/ts/process"
	"conewright/ts/verdict"
)

// Days gathers units of one type by day and station. It keeps sums of each day and station and no unit, so that there
// may be millions.
type Days struct {
	Units, InSpec, OutOfSpec, Undecided int

	spec  *verdict.Spec
	batch *lot.Batch
	sums  map[dayAndStation][]process.Sums // in the order of book.Kept
}

type dayAndStation struct{ day, station string }

func (k dayAndStation) ofDay() string     { return k.day }
func (k dayAndStation) ofStation() string { return k.station }

// inOrder are the days and stations in a fixed order: the sums of floating-point numbers depend on it.
func (d *Days) inOrder() []dayAndStation {
	return slices.SortedFunc(maps.Keys(d.sums), func(a, b dayAndStation) int {
		return cmp.Or(cmp.Compare(a.day, b.day), cmp.Compare(a.station, b.station))
	})
}

// NewDays begins with no unit; the limits of spec, if there is one, are for the capability.
func NewDays(spec *verdict.Spec) (*Days, error) {
	d := &Days{spec: spec, batch: new(lot.Batch), sums: map[dayAndStation][]process.Sums{}}
	var err error
	if spec != nil {
		d.batch, err = lot.NewBatch(*spec)
	}
	return d, err
}

// Add takes in units, in the order of measurement.
func (d *Days) Add(g *dayfiles.Group) {
	if g.Units == 0 {
		return
	}
	d.Units, d.InSpec, d.OutOfSpec, d.Undecided = d.Units+g.Units, d.InSpec+g.InSpec, d.OutOfSpec+g.OutOfSpec, d.Undecided+g.NotDecided
	at := dayAndStation{g.Day, g.Station}
	if d.sums[at] == nil {
		d.sums[at] = make([]process.Sums, len(book.Kept))
	}
	for i, id := range book.Kept {
		d.batch.AddValues(id, g.Values[i])
		d.sums[at][i].Join(g.Sums[i])
	}
}

// summary is the spread of the quantities that any unit has.
func (d *Days) summary() []lot.BatchValue {
	return slices.DeleteFunc(d.batch.Summary(), func(v lot.BatchValue) bool { return v.N == 0 })
}

// capabilities are those of the quantities that the sheet limits. What the measurement scatters is not known
// here, and stays in the scatter.
func (d *Days) capabilities() []capable {
	if d.spec == nil {
		return nil
	}
	var list []capable
	for i, id := range book.Kept {
		limit, ok := d.spec.Limit(id)
		if !ok {
			continue
		}
		units, err := d.unitsOf(i)
		if err != nil || units.N < fewestForSigmas {
			continue
		}
		if index, err := units.Capability(limit.Lo, limit.Hi, 0.95); err == nil {
			list = append(list, capable{id: id, index: index})
		}
	}
	return list
}

// unitsOf summarises the quantity at i; units of one day and station show the scatter at one time, or those of one
// day where stations had one a day.
func (d *Days) unitsOf(i int) (process.Units, error) {
	var groups, days []process.Sums
	order := d.inOrder()
	for _, at := range order {
		groups = append(groups, d.sums[at][i])
	}
	if units, err := process.UnitsOfSums(groups); err == nil {
		return units, nil
	}
	for _, p := range d.joined(order, i, dayAndStation.ofDay) {
		days = append(days, p.sums)
	}
	return process.UnitsOfSums(days)
}

// points are the days, or the stations, as points of control charts.
type points struct {
	id      param.ID
	of      string // "day", "station"
	names   []string
	sums    []process.Sums
	charted bool // there are enough of them
	// The charts of their means and standard deviations, each taken as a single value: with hundreds of units a day,
	// limits by the scatter within a day are narrower than any process holds from day to day.
	means, stds process.Chart
	moved, wide []process.Signal
}

// charts are those of the days and those of the stations for every quantity.
//
// Source of charts of means as single values: common practice where groups are large.
func (d *Days) charts() []points {
	var list []points
	order := d.inOrder()
	for i, id := range book.Kept {
		for _, of := range []struct {
			name string
			key  func(dayAndStation) string
		}{{"day", dayAndStation.ofDay}, {"station", dayAndStation.ofStation}} {
			if p := pointsOf(d.joined(order, i, of.key)); len(p.names) > 0 {
				p.id, p.of = id, of.name
				list = append(list, p)
			}
		}
	}
	return list
}

// named are sums with the name of the day or station that they are of.
type named struct {
	name string
	sums process.Sums
}

// joined puts the sums of the quantity at i together that have the same key, in the order of the keys.
func (d *Days) joined(order []dayAndStation, i int, key func(dayAndStation) string) []named {
	all := map[string]process.Sums{}
	for _, at := range order {
		s := all[key(at)]
		s.Join(d.sums[at][i])
		all[key(at)] = s
	}
	var list []named
	for _, name := range slices.Sorted(maps.Keys(all)) {
		list = append(list, named{name, all[name]})
	}
	return list
}

// pointsOf makes the charts of those that have more than one unit.
func pointsOf(list []named) points {
	var p points
	var means, stds []float64
	for _, n := range list {
		if n.sums.N > 1 {
			p.names, p.sums = append(p.names, n.name), append(p.sums, n.sums)
			means, stds = append(means, n.sums.Mean), append(stds, n.sums.Spread().Std())
		}
	}
	if len(means) < fewestForChart {
		return p
	}
	m, err := process.Individuals(means)
	if err != nil {
		return p // all the same
	}
	s, err := process.Individuals(stds)
	if err != nil {
		return p
	}
	p.charted, p.means, p.stds = true, m.Location, s.Location
	p.moved, p.wide = p.means.Signals(means), p.stds.Signals(stds)
	return p
}

// signals are those that count: stations have no order in time, so that only points beyond a limit do.
func (p points) signals(all []process.Signal) []process.Signal {
	if p.of == "day" {
		return all
	}
	return slices.DeleteFunc(slices.Clone(all), func(s process.Signal) bool { return s.Rule != process.BeyondLimit })
}

// name is the one of a point.
func (p points) name(at int) string { return p.of + " " + cmp.Or(p.names[at], "without a name") }

// words say where the quantity was not steady; nothing where it was.
func (p points) words() string {
	b := scaleFor(p.id, p.means.Centre, (p.means.Hi-p.means.Lo)/6)
	var in []string
	for _, s := range firstOfRuns(p.signals(p.moved)) {
		in = append(in, fmt.Sprintf("%s (mean %s, %s)", p.name(s.Point), wording.WithUnit(b.number(p.sums[s.Point].Mean), unitOf(p.id)), ruleWords[s.Rule]))
	}
	for _, s := range firstOfRuns(p.signals(p.wide)) {
		in = append(in, fmt.Sprintf("%s (its spread is %s)", p.name(s.Point), ruleWords[s.Rule]))
	}
	if more := len(in) - mostSignals; more > 0 {
		in = append(in[:mostSignals], fmt.Sprintf("%d more", more))
	}
	switch {
	case in == nil:
		return ""
	case p.of == "day":
		return fmt.Sprintf("Not steady in %s: %s.", p.id, wording.List(in))
	}
	return fmt.Sprintf("Unlike the other stations in %s: %s.", p.id, wording.List(in))
}

// Production reports units by day and station; kind is their type.
func Production(job Job, kind string, d *Days) *Report {
	days, stations := map[string]bool{}, map[string]bool{}
	for at := range d.sums {
		days[at.day], stations[at.station] = true, true
	}
	r := &Report{Schema: "conewright/stats/1", Version: job.Version, Sheet: job.Spec, Spec: d.spec, Days: d,
		Title: fmt.Sprintf("%d units of %s, days: %d, stations: %d", d.Units, kind, len(days), len(stations))}
	if judged := d.InSpec + d.OutOfSpec + d.Undecided; judged > 0 {
		r.Headline = fmt.Sprintf("%d in spec, %d out of spec, %d undecided; yield %.3g %%", d.InSpec, d.OutOfSpec, d.Undecided, 100*float64(d.InSpec)/float64(judged))
	}
	charts := d.charts()
	for _, p := range charts {
		if words := p.words(); words != "" {
			r.Body = append(r.Body, words)
		}
	}
	r.Tables = append(r.Tables, spreadTable(d.summary()))
	if process := d.capabilities(); len(process) > 0 {
		t := capabilityTable(process)
		t.Columns = t.Columns[:len(t.Columns)-1] // nothing is known of the measurement
		for i := range t.Rows {
			t.Rows[i].Cells = t.Rows[i].Cells[:len(t.Columns)]
		}
		t.Note = "With 95 % intervals. What the measurement scatters is not taken out, so that the units are at least as good as this says. Cp and Cpk count with the scatter within a day at one station, Pp and Ppk with that of all units; Cp and Pp leave out where the middle lies."
		r.Tables = append(r.Tables, t)
	}
	if t := chartTable(charts); len(t.Rows) > 0 {
		r.Tables = append(r.Tables, t)
	}
	return r
}

// chartTable lists the control charts.
func chartTable(charts []points) Table {
	t := Table{Title: "Control charts of the means", Columns: []Column{{"", Left}, {"of", Left}, {"points", Right}, {"lower limit", Point}, {"centre", Point}, {"upper limit", Point}, {"", Left}, {"beyond", Right}},
		Note: fmt.Sprintf("The mean of a day, or of a station, counts as one value; limits are from how much one differs from the next. Charts need %d points. The JSON has all points, and the charts of the spreads.", fewestForChart)}
	for _, p := range charts {
		if !p.charted {
			continue
		}
		c := p.means
		b := scaleFor(p.id, c.Centre, (c.Hi-c.Lo)/6)
		beyond := 0
		for _, s := range p.moved {
			if s.Rule == process.BeyondLimit {
				beyond++
			}
		}
		t.Rows = append(t.Rows, Row{Cells: []string{p.id.String(), p.of + "s", fmt.Sprint(len(p.names)), b.number(c.Lo), b.number(c.Centre), b.number(c.Hi), unitOf(p.id), fmt.Sprint(beyond)}})
	}
	return t
}
