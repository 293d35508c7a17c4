package book

import (
	"context"
	"database/sql"
	"fmt"
	"math"
	"time"
)

// StationSetting is the setting of a bench that names it among several.
const StationSetting = "station"

// Measured is a result with when and where it was measured, in the columns that tables of a whole book have.
type Measured struct {
	Ref          Ref
	Type, Serial string
	Day          string // "2026-11-27", in UTC: when the last sweep was added
	Station      string // "" where the bench had no name
	At           string // RFC 3339, in UTC
	Verdict      string
	// Values are those of Kept, NaN where the sweeps do not give one. They are good until the next result.
	Values []Value
}

// Days says which results are wanted; empty fields want all.
type Days struct {
	Type, Station, Stage string
	From, To             string // days, both included
}

// EachMeasured hands the results to visit one by one: day by day, in a day station by station, and
// at a station in the order in which the stages began.
func (b *Book) EachMeasured(ctx context.Context, d Days, visit func(Measured) error) error {
	scan := newValueScan()
	u := Measured{Values: make([]Value, len(Kept))}
	targets := append([]any{&u.Ref.Job, &u.Ref.Side, &u.Ref.Stage, &u.Type, &u.Serial, &u.At, &u.Verdict, &u.Station}, scan.targets()...)
	query, args := b.ofDays(d)
	return b.read(ctx, func(rows *sql.Rows) error {
		if err := rows.Scan(targets...); err != nil {
			return err
		}
		u.Day = u.At[:min(len(time.DateOnly), len(u.At))]
		scan.fill(u.Values)
		return visit(u)
	}, query, args...)
}

// ofDays is the statement for the results that are wanted, with its arguments.
func (b *Book) ofDays(d Days) (query string, args []any) {
	station := "coalesce(" + b.home.setting("s.bench", StationSetting) + ", '')"
	where := "true"
	for _, c := range []struct{ condition, value string }{
		{"d.type = ", d.Type}, {station + " = ", d.Station}, {"s.name = ", d.Stage},
		{"r.measured >= ", d.From}, {"r.measured < ", nextDay(d.To)},
	} {
		if c.value != "" {
			args = append(args, c.value)
			where += fmt.Sprintf(" AND %s$%d", c.condition, len(args))
		}
	}
	return `SELECT d.job, d.side, s.name, d.type, d.serial, r.measured, r.verdict, ` + station + `, ` + valueColumns("r.") + `
		FROM stage s JOIN driver d ON d.id = s.driver JOIN result r ON r.stage = s.id WHERE ` + where + `
		ORDER BY substr(r.measured, 1, 10), 8, s.id`, args
}

// nextDay is the day after a day; empty for none.
func nextDay(day string) string {
	t, err := time.Parse(time.DateOnly, day)
	if err != nil {
		return ""
	}
	return t.AddDate(0, 0, 1).Format(time.DateOnly)
}

// fill sets values in the order of Kept, NaN for what is not known.
func (v valueScan) fill(values []Value) {
	for i := range values {
		values[i] = Value{math.NaN(), math.NaN()}
		if v[2*i].Valid {
			values[i] = Value{v[2*i].Float64, v[2*i+1].Float64}
		}
	}
}
