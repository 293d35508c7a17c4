package report

import (
	"cmp"
	"fmt"
	"slices"

	"conewright/cmd/internal/jsonout"
	"conewright/cmd/internal/wording"
	"conewright/ts/process"
)

// fewestForChart is the number of units below which control charts give mostly false signals: their
// limits are too badly known. The same number in fewer groups than fewestGroups shows too little of
// what lies between groups.
const fewestForChart, fewestGroups = 20, 5

// GroupColumn is the column of a manifest that makes groups of units, if no other is named.
const GroupColumn = "group"

// control are the control charts of one quantity: of single units and their moving ranges, or of
// the means and ranges of groups.
type control struct {
	process.Charts
	size    int              // units in a group; 0: single units
	at      []int            // the unit, or the group, behind each point of Location
	signals []process.Signal // in Location
	wide    []process.Signal // in Scatter
	left    int              // groups of another size, which do not count
}

// unitValue is a unit that has a value of the quantity.
type unitValue struct {
	at    int // in names and values
	value float64
}

// groups puts units together that the manifest gives the same group, in the order of the first of
// each; nil where no group has two. Units without a group follow, each by itself and without a name.
func (l *Lot) groups(units []unitValue) (groups [][]float64, names []string) {
	if l.groupOf == nil {
		return nil, nil
	}
	index := map[string]int{}
	var single [][]float64
	several := false
	for _, u := range units {
		name := l.groupOf[u.at]
		if name == "" {
			single = append(single, []float64{u.value})
			continue
		}
		i, ok := index[name]
		if !ok {
			i = len(groups)
			index[name] = i
			groups, names = append(groups, nil), append(names, name)
		}
		groups[i] = append(groups[i], u.value)
		several = several || ok
	}
	if !several {
		return nil, nil
	}
	return append(groups, single...), names
}

// controlOf makes the charts of a quantity; nil where there are too few units.
func (l *Lot) controlOf(units []unitValue) *control {
	if groups, names := l.groups(units); groups != nil {
		return controlOfGroups(groups, names, l.groupIndex)
	}
	if len(units) < fewestForChart {
		return nil
	}
	var c control
	var values []float64
	for _, u := range units {
		values, c.at = append(values, u.value), append(c.at, u.at)
	}
	var err error
	if c.Charts, err = process.Individuals(values); err != nil {
		return nil // all the same
	}
	return c.signalled()
}

// controlOfGroups makes the charts of groups. The limits hold for one size, and those of the usual
// size count; index is the number of each group in the lot.
func controlOfGroups(groups [][]float64, names []string, index map[string]int) *control {
	sizes := map[int]int{}
	for _, g := range groups {
		sizes[len(g)]++
	}
	var c control
	for size, n := range sizes {
		if size > 1 && (n > sizes[c.size] || n == sizes[c.size] && size > c.size) {
			c.size = size
		}
	}
	var same [][]float64
	for i, g := range groups {
		if len(g) == c.size {
			same, c.at = append(same, g), append(c.at, index[names[i]])
		}
	}
	c.left = len(names) - len(same)
	if len(same) < fewestGroups || len(same)*c.size < fewestForChart {
		return nil
	}
	var err error
	if c.Charts, err = process.MeansAndRanges(same); err != nil {
		return nil // all the same, or groups larger than there are constants for
	}
	return c.signalled()
}

func (c control) signalled() *control {
	c.signals, c.wide = c.Location.Signals(c.Location.Points), c.Scatter.Signals(c.Scatter.Points)
	return &c
}

// pointName is the unit or group behind a point.
func (l *Lot) pointName(c *control, point int) string {
	if c.size > 0 {
		return GroupColumn + " " + l.groupNames[c.at[point]]
	}
	return l.names[c.at[point]]
}

// ruleWords say the run rules.
var ruleWords = map[process.Rule]string{
	process.BeyondLimit: "beyond the control limits", process.TwoOfThree: "the second of three far to one side",
	process.FourOfFive: "the fourth of five to one side", process.EightInARow: "the eighth in a row on one side",
}

// mostSignals is how many signals are named; the JSON has all.
const mostSignals = 3

// signalWords says where the process was not steady. Moving ranges say again what the units say, and
// are left to the figure; ranges of groups are not.
func (l *Lot) signalWords(list []capable) []string {
	var out []string
	left := 0
	for _, c := range list {
		if c.control == nil {
			continue
		}
		var in []string
		for _, s := range firstOfRuns(c.control.signals) {
			in = append(in, fmt.Sprintf("%s (%s)", l.pointName(c.control, s.Point), ruleWords[s.Rule]))
		}
		if c.control.size > 0 {
			left = max(left, c.control.left)
			for _, s := range c.control.wide {
				in = append(in, l.pointName(c.control, s.Point)+" (its range is beyond the control limits)")
			}
		}
		if more := len(in) - mostSignals; more > 0 {
			in = append(in[:mostSignals], fmt.Sprintf("%d more", more))
		}
		if in != nil {
			out = append(out, fmt.Sprintf("Not steady in %s: %s.", c.id, wording.List(in)))
		}
	}
	if left > 0 {
		out = append(out, fmt.Sprintf("Not in the control charts: %s.", ofAnotherSize(left)))
	}
	return out
}

func ofAnotherSize(groups int) string {
	if groups == 1 {
		return "1 group of another size than most"
	}
	return fmt.Sprintf("%d groups of another size than most", groups)
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

// controlJSON is the chart of the location, with that of the scatter in it.
func (l *Lot) controlJSON(c *control) jsonout.Object {
	of := "unit"
	if c.size > 0 {
		of = GroupColumn
	}
	chart := func(x process.Chart, signals []process.Signal, ahead int) jsonout.Object {
		list := []jsonout.Object{}
		for _, s := range signals {
			name := l.names
			if c.size > 0 {
				name = l.groupNames
			}
			list = append(list, jsonout.Object{{of, name[c.at[s.Point+ahead]]}, {"rule", int(s.Rule)}})
		}
		return jsonout.Object{{"centre", jsonout.Number(x.Centre)}, {"low", jsonout.Number(x.Lo)}, {"high", jsonout.Number(x.Hi)}, {"signals", list}}
	}
	o := chart(c.Location, c.signals, 0)
	ahead := 0
	if c.size == 0 {
		ahead = 1 // a moving range belongs to the later of its two units
	} else {
		o.Add("group_size", c.size)
	}
	o.Add("ranges", chart(c.Scatter, c.wide, ahead))
	return o
}
