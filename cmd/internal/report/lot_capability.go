package report

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/param"
	"conewright/ts/process"
	"conewright/ts/study"
	"conewright/ts/verdict"
)

// fewestForChart is the number of units below which a control chart gives mostly false
// signals: its limits are too badly known.
const fewestForChart = 20

// capable is what a lot says of the process behind one quantity.
type capable struct {
	id    param.ID
	index process.Capability
	// hidden says that the units differ no more than one and the same unit would when it is
	// measured again: then there are no indices.
	hidden bool
	chart  *process.Chart // of single units; nil below fewestForChart
	signal []process.Signal
	at     []int // the unit behind each point of the chart
}

// measurementDoubt is the relative uncertainty of what the measurement scatters: it is that of
// the fits, not of repeats.
const measurementDoubt = 0.25

// capabilities are those of the quantities that the sheet limits.
func (l *Lot) capabilities() []capable {
	if l.spec == nil {
		return nil
	}
	var list []capable
	for _, limit := range l.spec.Limits {
		if c, ok := l.capability(limit); ok {
			list = append(list, c)
		}
	}
	return list
}

// capability judges the process by one limit. What the bench is wrong by is the same for all
// units and no scatter; only noise and repeats are taken out of it.
func (l *Lot) capability(limit verdict.Limit) (capable, bool) {
	var values []float64
	random := 0.0
	c := capable{id: limit.ID}
	for i, u := range l.values {
		v, _ := u.value(limit.ID)
		if math.IsNaN(v) {
			continue
		}
		r := u.random(limit.ID)
		values, random, c.at = append(values, v), random+r*r, append(c.at, i)
	}
	if len(values) < fewestForSigmas {
		return capable{}, false
	}
	units, err := process.UnitsOf(values)
	if err != nil {
		return capable{}, false // all the same
	}
	units.Measurement = study.Judged(math.Sqrt(random/float64(len(values))), measurementDoubt)
	if c.index, err = units.Capability(limit.Lo, limit.Hi, 0.95); err != nil {
		c.hidden = true
	}
	if len(values) >= fewestForChart {
		if charts, err := process.Individuals(values); err == nil {
			c.chart, c.signal = &charts.Location, charts.Location.Signals(values)
		}
	}
	return c, true
}

// capabilityTable lists the indices with their intervals.
func capabilityTable(list []capable) Table {
	t := Table{Title: "Capability of the process", Columns: []Column{{"", Left}, {"Cp", Left}, {"Cpk", Left}, {"Pp", Left}, {"Ppk", Left}, {"of the variance measured", Right}},
		Note: "With 95 % intervals; what the measurement scatters is taken out. Cp and Cpk count with the scatter from one unit to the next, Pp and Ppk with that of the whole lot; Cp and Pp leave out where the middle lies."}
	for _, c := range list {
		if c.hidden {
			t.Rows = append(t.Rows, Row{Cells: []string{c.id.String(), "units do not differ by more than the measurement scatters", "", "", "", ""}})
			continue
		}
		x := c.index
		t.Rows = append(t.Rows, Row{Cells: []string{c.id.String(), indexText(x.Cp), indexText(x.Cpk), indexText(x.Pp), indexText(x.Ppk), fmt.Sprintf("%.0f %%", 100*x.Measured)}})
	}
	return t
}

// indexText writes "1.33 (1.10 to 1.56)".
func indexText(x process.Index) string {
	if !x.Known {
		return ""
	}
	if math.IsInf(x.Hi, 1) { // the measurement may be all that scatters
		return fmt.Sprintf("%.2f (above %.2f)", x.Value, x.Lo)
	}
	return fmt.Sprintf("%.2f (%.2f to %.2f)", x.Value, x.Lo, x.Hi)
}

// ruleWords say the run rules.
var ruleWords = map[process.Rule]string{
	process.BeyondLimit: "beyond the control limits", process.TwoOfThree: "the second of three far to one side",
	process.FourOfFive: "the fourth of five to one side", process.EightInARow: "the eighth in a row on one side",
}

// mostSignals is how many signals are named; the JSON has all.
const mostSignals = 3

// signalWords says where the process was not steady.
func (l *Lot) signalWords(list []capable) []string {
	var out []string
	for _, c := range list {
		var in []string
		first := firstOfRuns(c.signal)
		for i, s := range first {
			if i == mostSignals {
				in = append(in, fmt.Sprintf("%d more", len(first)-i))
				break
			}
			in = append(in, fmt.Sprintf("%s (%s)", l.names[c.at[s.Point]], ruleWords[s.Rule]))
		}
		if in != nil {
			out = append(out, fmt.Sprintf("Not steady in %s: %s.", c.id, wording.List(in)))
		}
	}
	return out
}

// firstOfRuns leaves of signals of one rule at points that follow one another the first; points
// beyond a limit, which are each a signal of its own, come before all others.
func firstOfRuns(all []process.Signal) []process.Signal {
	var out []process.Signal
	last := map[process.Rule]int{}
	for _, s := range all {
		before, seen := last[s.Rule]
		last[s.Rule] = s.Point
		if s.Rule == process.BeyondLimit || !seen || s.Point > before+1 {
			out = append(out, s)
		}
	}
	slices.SortStableFunc(out, func(a, b process.Signal) int {
		return cmp.Compare(min(a.Rule, process.TwoOfThree), min(b.Rule, process.TwoOfThree))
	})
	return out
}

// capabilityJSON is what a lot says of the process, by quantity.
func (l *Lot) capabilityJSON(list []capable) jsonout.Object {
	all := jsonout.Object{}
	for _, c := range list {
		o := jsonout.Object{}
		if !c.hidden {
			for _, x := range []struct {
				name  string
				index process.Index
			}{{"Cp", c.index.Cp}, {"Cpk", c.index.Cpk}, {"Pp", c.index.Pp}, {"Ppk", c.index.Ppk}} {
				if x.index.Known {
					o.Add(x.name, jsonout.Object{{"value", jsonout.Number(x.index.Value)}, {"low", jsonout.Number(x.index.Lo)}, {"high", jsonout.Number(x.index.Hi)}})
				}
			}
			o.Add("measured_share", jsonout.Number(c.index.Measured))
		}
		if c.chart != nil {
			signals := []jsonout.Object{}
			for _, s := range c.signal {
				signals = append(signals, jsonout.Object{{"unit", l.names[c.at[s.Point]]}, {"rule", int(s.Rule)}})
			}
			o.Add("chart", jsonout.Object{{"centre", jsonout.Number(c.chart.Centre)}, {"low", jsonout.Number(c.chart.Lo)}, {"high", jsonout.Number(c.chart.Hi)}, {"signals", signals}})
		}
		all.Add(c.id.String(), o)
	}
	return all
}
