package dayfiles

import (
	"math"
	"slices"

	"conewright/cmd/internal/book"
	"conewright/ts/process"
	"conewright/ts/verdict"
)

// Group are units of one day and station, or a part of them.
type Group struct {
	Day, Station                         string
	Units, InSpec, OutOfSpec, NotDecided int
	Values                               [][]float64    // by the order of book.Kept, NaN where not known
	Sums                                 []process.Sums // of those that are known
	Types                                map[string]int // of all units, also those of other types
}

func newGroup(day, station string) *Group {
	return &Group{Day: day, Station: station, Values: make([][]float64, len(book.Kept)), Sums: make([]process.Sums, len(book.Kept)), Types: map[string]int{}}
}

func (g *Group) judged(word string) {
	g.Units++
	switch word {
	case verdict.InSpec.String():
		g.InSpec++
	case verdict.OutOfSpec.String():
		g.OutOfSpec++
	case verdict.Undecided.String():
		g.NotDecided++
	}
}

// add takes in a value of the quantity at i.
func (g *Group) add(i int, v float64) {
	g.Values[i] = append(g.Values[i], v)
	if !math.IsNaN(v) && !math.IsInf(v, 0) {
		g.Sums[i].Add(v)
	}
}

// Read reads the units of a file that d wants.
func (p Part) Read(d book.Days) (*Group, error) {
	table, f, err := p.open()
	if err != nil {
		return nil, err
	}
	defer f.Close()
	g := newGroup(p.Day, p.Station)
	left := make([]bool, table.Rows())
	leaveOut := func(column, want string, count map[string]int) error {
		return table.Texts(column, func(row int, text []byte) {
			if count != nil && !left[row] {
				count[string(text)]++
			}
			left[row] = left[row] || want != "" && string(text) != want
		})
	}
	if err := leaveOut(stageColumn, d.Stage, nil); err != nil {
		return nil, p.damaged(err)
	}
	if err := leaveOut(typeColumn, d.Type, g.Types); err != nil {
		return nil, p.damaged(err)
	}
	if !slices.Contains(left, false) {
		return g, nil
	}
	err = table.Texts(verdictColumn, func(row int, text []byte) {
		if !left[row] {
			g.judged(string(text))
		}
	})
	if err != nil {
		return nil, p.damaged(err)
	}
	for i, id := range book.Kept {
		values, err := table.Numbers(valueColumn(id))
		if err != nil {
			return nil, p.damaged(err)
		}
		g.Values[i] = make([]float64, 0, g.Units)
		for row, v := range values {
			if !left[row] {
				g.add(i, v)
			}
		}
	}
	return g, nil
}

// mostInGroup is after how many units a group from a book is handed on, so that memory has an end.
const mostInGroup = 10000

// Grouped hands units that come day by day, and in a day station by station, on in groups.
type Grouped struct {
	visit func(*Group) error
	group *Group
}

// NewGrouped begins with no unit.
func NewGrouped(visit func(*Group) error) *Grouped { return &Grouped{visit: visit} }

// Add takes in one unit.
func (a *Grouped) Add(u book.Measured) error {
	if g := a.group; g != nil && (g.Day != u.Day || g.Station != u.Station || g.Units == mostInGroup) {
		if err := a.End(); err != nil {
			return err
		}
	}
	if a.group == nil {
		a.group = newGroup(u.Day, u.Station)
	}
	a.group.Types[u.Type]++
	a.group.judged(u.Verdict)
	for i, v := range u.Values {
		a.group.add(i, v.Value)
	}
	return nil
}

// End hands the last group on.
func (a *Grouped) End() error {
	if a.group == nil {
		return nil
	}
	g := a.group
	a.group = nil
	return a.visit(g)
}
