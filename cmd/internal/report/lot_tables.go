package report

import (
	"conewright/cmd/internal/datatable"
	"conewright/ts/process"
)

// PairColumns are the columns of [Lot.EachPair].
var PairColumns = []datatable.Column{{Name: "unit"}, {Name: "with"}, {Name: "mismatch", Number: true}}

// EachPair hands the pairs of the lot to row, the best first.
func (l *Lot) EachPair(row func([]datatable.Cell) error) error {
	for _, p := range l.bestPairs().list {
		if err := row([]datatable.Cell{datatable.Text(p.a), datatable.Text(p.b), datatable.Number(p.distance)}); err != nil {
			return err
		}
	}
	return nil
}

// SummaryColumns are the columns of [Report.EachFigure].
var SummaryColumns = []datatable.Column{{Name: "parameter"}, {Name: "figure"}, {Name: "unit"}, {Name: "value", Number: true}, {Name: "low", Number: true}, {Name: "high", Number: true}}

// EachFigure hands the figures of the lot to row, one at a time: those without a parameter are of the
// whole lot. The names are those of the JSON.
func (r *Report) EachFigure(row func([]datatable.Cell) error) error {
	l := r.Lot
	var err error
	add := func(parameter, figure, unit string, value, low, high datatable.Cell) {
		if err == nil {
			err = row([]datatable.Cell{datatable.Text(parameter), datatable.Text(figure), datatable.Text(unit), value, low, high})
		}
	}
	alone := func(parameter, figure, unit string, value float64) {
		add(parameter, figure, unit, datatable.Number(value), datatable.Missing, datatable.Missing)
	}
	for _, n := range []struct {
		name  string
		count int
	}{{"units", l.Units}, {"in_spec", l.InSpec}, {"out_of_spec", l.OutOfSpec}, {"undecided", l.Undecided}, {"failed", l.Failed}} {
		alone("", n.name, "1", float64(n.count))
	}
	for _, v := range l.summary() {
		id, unit := v.ID.String(), v.ID.Info().Unit
		alone(id, "units", "1", float64(v.N))
		alone(id, "mean", unit, v.Mean)
		alone(id, "std", unit, absoluteStd(v))
		alone(id, "median", unit, v.Median)
		if v.Limited && v.N >= fewestForSigmas {
			alone(id, "sigmas_to_lower", "1", v.LoSigmas)
			alone(id, "sigmas_to_upper", "1", v.HiSigmas)
		}
		if v.ID.Info().Positive {
			alone(id, "drift_ratio", "1", 1+v.Trend.Total)
		} else {
			alone(id, "drift", unit, v.Trend.Total)
		}
		alone(id, "drift_p_value", "1", v.Trend.P)
	}
	for _, c := range r.process {
		id, unit := c.id.String(), c.id.Info().Unit
		if !c.hidden {
			for _, x := range c.indices() {
				add(id, x.name, "1", datatable.Number(x.index.Value), datatable.Number(x.index.Lo), datatable.Number(x.index.Hi))
			}
			alone(id, "measured_share", "1", c.index.Measured)
		}
		if x := c.control; x != nil {
			chart := func(name string, of process.Chart) {
				add(id, name, unit, datatable.Number(of.Centre), datatable.Number(of.Lo), datatable.Number(of.Hi))
			}
			chart("chart", x.Location)
			chart("ranges", x.Scatter)
			alone(id, "signals", "1", float64(len(x.signals)+len(x.wide)))
		}
	}
	return err
}
