package report

import (
	"fmt"

	"conewright/cmd/internal/wording"
	"conewright/ts/lot"
)

// pairing is the best pairing of the units that may be paired.
type pairing struct {
	list   []pairOf
	left   string // without a partner, or ""
	exact  bool
	limits []lot.PairLimit
}

type pairOf struct {
	a, b     string
	distance float64
}

// bestPairs pairs the units of the lot.
func (l *Lot) bestPairs() pairing {
	if l.best == nil {
		p := pairing{limits: l.pair}
		if l.points != nil && l.points.Len() > 1 {
			found := lot.Assign(l.points)
			p.exact = found.Exact
			for _, pair := range found.Pairs {
				i, j := pair[0], pair[1]
				p.list = append(p.list, pairOf{l.names[l.paired[i]], l.names[l.paired[j]], l.points.Distance(i, j)})
			}
			if found.Left >= 0 {
				p.left = l.names[l.paired[found.Left]]
			}
		}
		l.best = &p
	}
	return *l.best
}

// table lists the pairs, the best first.
func (p pairing) table() Table {
	const most = 20
	var words []string
	for _, limit := range p.limits {
		words = append(words, fmt.Sprintf("%s %.3g %%", limit.ID, limit.Percent))
	}
	t := Table{Title: "Best pairs", Dense: len(p.list) > 5, Columns: []Column{{"unit", Left}, {"with", Left}, {"mismatch", Point}},
		Note: "Pairs of the lot that fit best all together, by " + wording.List(words) + ". A mismatch of 0 is equal, 2 is one quantity at its limit."}
	if !p.exact {
		t.Note += " So many units are paired by a search among neighbours: all pairs together are within a few percent of the best there is."
	}
	for i, pair := range p.list {
		if i == most {
			t.Note += fmt.Sprintf(" %d more pairs are in the JSON.", len(p.list)-most)
			break
		}
		t.Rows = append(t.Rows, Row{Cells: []string{pair.a, pair.b, fixed(pair.distance, 2)}})
	}
	if p.left != "" {
		t.Note += " " + p.left + " is left over."
	}
	return t
}
