package study

import (
	"slices"
	"strings"

	"conewright/ts/notice"
)

// mostLevels is the depth that a design may have.
const mostLevels = 4

// Place says what was measured and where a reading stands among the repeats.
type Place struct {
	// Driver is what was measured. Each has a mean of its own, which is taken as
	// fixed; all share the scatter.
	Driver string
	// Groups names the group on each level but the last, outermost first: operator,
	// session, clamping. A group is known by its name together with the names before it, so that
	// session 1 of one operator is not session 1 of another. Drivers with equal
	// names were in the same group and share its error; where they cannot have been,
	// as in one clamping, the driver belongs into the name.
	Groups []string
}

// Design is a plan of repeats within repeats, balanced or not.
type Design struct {
	levels   []string
	drivers  []string
	cell     []int     // of each reading
	count    []float64 // of readings in each cell
	driver   []int     // of each cell
	group    []grouping
	basis    []contrasts // one for each level above the readings
	errorDof int         // degrees of freedom within the innermost groups
	alike    []float64   // nil, or for a balanced design the readings in a group of each level
	pathOf   map[string]int
}

// grouping says for one level which group each cell is in.
type grouping struct {
	of []int
	n  int
}

// NewDesign makes a design of one to mostLevels levels, outermost first: the last is
// the reading itself, so that with one level there are only readings. places has one
// entry for each reading.
//
// Source of the model: theory (8.1).
func NewDesign(levels []string, places []Place) (*Design, error) {
	if len(levels) < 1 || len(levels) > mostLevels {
		return nil, notice.New("study-levels", notice.Facts{"levels": len(levels), "most": mostLevels})
	}
	if len(places) == 0 {
		return nil, notice.New("study-empty", nil)
	}
	d := &Design{levels: slices.Clone(levels), pathOf: map[string]int{}, group: make([]grouping, len(levels)-1)}
	cells, drivers := map[string]int{}, map[string]int{}
	for i, p := range places {
		if len(p.Groups) != len(levels)-1 {
			return nil, notice.New("study-place", notice.Facts{"reading": i + 1, "groups": len(p.Groups), "expected": len(levels) - 1})
		}
		if _, ok := drivers[p.Driver]; !ok {
			drivers[p.Driver] = len(drivers)
			d.drivers = append(d.drivers, p.Driver)
		}
		key := path(p.Groups) + "\x00\x00" + p.Driver
		c, ok := cells[key]
		if !ok {
			c = len(cells)
			cells[key] = c
			d.count = append(d.count, 0)
			d.driver = append(d.driver, drivers[p.Driver])
			for k := range d.group {
				d.group[k].of = append(d.group[k].of, d.addGroup(k, p.Groups))
			}
		}
		d.cell = append(d.cell, c)
		d.count[c]++
	}
	d.contrast()
	return d, nil
}

// path is the name of a group together with those before it.
func path(groups []string) string { return strings.Join(groups, "\x00") }

// addGroup returns the number of the group of level k, a new one if need be.
func (d *Design) addGroup(k int, groups []string) int {
	key := path(groups[:k+1])
	g, ok := d.pathOf[key]
	if !ok {
		g = d.group[k].n
		d.group[k].n++
		d.pathOf[key] = g
	}
	return g
}

// Dof returns the degrees of freedom that the design has on each level: by how
// many independent differences the level shows itself. A level with none cannot be
// told without a prior.
func (d *Design) Dof() []int {
	out := make([]int, 0, len(d.levels))
	for _, b := range d.basis {
		out = append(out, len(b.vectors))
	}
	return append(out, d.errorDof)
}

// balanced says whether the mean squares of the levels are independent and have
// chi-square distributions, as in a design with equal numbers everywhere.
func (d *Design) balanced() bool { return d.alike != nil }
