package book

import (
	"context"
	"database/sql"
	"fmt"

	"conewright/ts/measured"
	"conewright/ts/repeat"
)

// Repeat is a sweep in free air and where it stands among the repeats of its stage.
type Repeat struct {
	Sweep Sweep
	Place repeat.Reading // without values
}

// Repeats returns the sweeps in free air of a stage in rows: of the sweeps of one row it is known
// what lies between them. A sweep of which nobody said what changed begins a new row, and rows
// of one sweep, which show no scatter, are left out. A sweep with a load is no reading of its own; where
// its kind was said, what changed before it has changed for those after it too.
func (s Stage) Repeats() [][]Repeat {
	var rows [][]Repeat
	var row []Repeat
	var operator, session, clamping int
	end := func() {
		if len(row) > 1 {
			rows = append(rows, row)
		}
		row = nil
	}
	for _, w := range s.Sweeps {
		free := w.Load.Kind == measured.Free
		switch w.Repeat {
		case repeat.Operator.String():
			operator, session, clamping = operator+1, session+1, clamping+1
		case repeat.Session.String():
			session, clamping = session+1, clamping+1
		case repeat.Reclamped.String():
			clamping++
		case repeat.Again.String():
		default:
			if free {
				end()
			}
		}
		if free {
			row = append(row, Repeat{w, repeat.Reading{Operator: fmt.Sprint(operator), Session: fmt.Sprint(session), Clamping: fmt.Sprint(clamping)}})
		}
	}
	end()
	return rows
}

// WithRepeats returns the jobs in which a sweep has a kind of repeat, in their order, of all types or
// of one.
func (b *Book) WithRepeats(ctx context.Context, kind string) ([]int, error) {
	var jobs []int
	err := b.read(ctx, func(rows *sql.Rows) error {
		var n int
		if err := rows.Scan(&n); err != nil {
			return err
		}
		jobs = append(jobs, n)
		return nil
	}, `SELECT DISTINCT d.job FROM sweep w JOIN stage s ON s.id = w.stage JOIN driver d ON d.id = s.driver
		WHERE w.repeat <> '' AND ($1 = '' OR d.type = $1) ORDER BY d.job`, kind)
	return jobs, err
}
