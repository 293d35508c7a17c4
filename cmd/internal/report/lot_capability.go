package report

import (
	"fmt"
	"math"

	"conewright/cmd/internal/jsonout"
	"conewright/ts/param"
	"conewright/ts/process"
	"conewright/ts/study"
	"conewright/ts/verdict"
)

// capable is what a lot says of the process behind one quantity.
type capable struct {
	id    param.ID
	index process.Capability
	// hidden says that the units differ no more than one and the same unit would when it is
	// measured again: then there are no indices.
	hidden  bool
	control *control // nil: too few units
}

// namedIndex is an index with its name.
type namedIndex struct {
	name  string
	index process.Index
}

// indices are those that are known.
func (c capable) indices() []namedIndex {
	var list []namedIndex
	for _, x := range []namedIndex{{"Cp", c.index.Cp}, {"Cpk", c.index.Cpk}, {"Pp", c.index.Pp}, {"Ppk", c.index.Ppk}} {
		if x.index.Known {
			list = append(list, x)
		}
	}
	return list
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
	var units []unitValue
	random, known := 0.0, 0 // of units from the book, few come with what of them is random
	for i, u := range l.values {
		v, _ := u.value(limit.ID)
		if math.IsNaN(v) {
			continue
		}
		units = append(units, unitValue{i, v})
		if r := u.random(limit.ID); r > 0 {
			random, known = random+r*r, known+1
		}
	}
	if len(units) < fewestForSigmas {
		return capable{}, false
	}
	of, err := l.unitsOf(units)
	if err != nil {
		return capable{}, false // all the same
	}
	of.Measurement = study.Judged(math.Sqrt(random/float64(max(1, known))), measurementDoubt)
	c := capable{id: limit.ID, control: l.controlOf(units)}
	if c.index, err = of.Capability(limit.Lo, limit.Hi, 0.95); err != nil {
		c.hidden = true
	}
	return c, true
}

// unitsOf summarises units. Where there are groups, units of one group show the scatter at one time.
func (l *Lot) unitsOf(units []unitValue) (process.Units, error) {
	if groups, _ := l.groups(units); groups != nil {
		return process.UnitsOfGroups(groups)
	}
	var values []float64
	for _, u := range units {
		values = append(values, u.value)
	}
	return process.UnitsOf(values)
}

// capabilityTable lists the indices with their intervals.
func capabilityTable(list []capable) Table {
	t := Table{Title: "Capability of the process", Early: true, Columns: []Column{{"", Left}, {"Cp", Left}, {"Cpk", Left}, {"Pp", Left}, {"Ppk", Left}, {"of the variance measured", Right}},
		Note: "With 95 % intervals; what the measurement scatters is taken out. Cp and Cpk count with the scatter from one unit to the next, or within the groups where there are some, Pp and Ppk with that of the whole lot; Cp and Pp leave out where the middle lies."}
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

// json are the indices with their intervals.
func (c capable) json() jsonout.Object {
	o := jsonout.Object{}
	if c.hidden {
		return o
	}
	for _, x := range c.indices() {
		o.Add(x.name, jsonout.Object{{"value", jsonout.Number(x.index.Value)}, {"low", jsonout.Number(x.index.Lo)}, {"high", jsonout.Number(x.index.Hi)}})
	}
	return o
}

// capabilityJSON is what a lot says of the process, by quantity.
func (l *Lot) capabilityJSON(list []capable) jsonout.Object {
	all := jsonout.Object{}
	for _, c := range list {
		o := c.json()
		if !c.hidden {
			o.Add("measured_share", jsonout.Number(c.index.Measured))
		}
		if c.control != nil {
			o.Add("chart", l.controlJSON(c.control))
		}
		all.Add(c.id.String(), o)
	}
	return all
}
