package book

import (
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"strings"
	"time"

	"conewright/ts/param"
)

// Summary is a job in a list.
type Summary struct {
	Number          int
	Title, Customer string
	Opened          time.Time
	Drivers         int
	Last            string // the newest stage
}

// Jobs returns the jobs that match all words of the query, the newest first, at most so
// many. A word is looked for in title, customer, contact, work, type and serial number.
func (b *Book) Jobs(ctx context.Context, query string, most int) ([]Summary, error) {
	where, args := "true", []any{most}
	for _, word := range strings.Fields(query) {
		args = append(args, "%"+strings.NewReplacer(`\`, `\\`, `%`, `\%`, `_`, `\_`).Replace(word)+"%")
		where += fmt.Sprintf(` AND (lower(j.title || ' ' || j.customer || ' ' || j.contact || ' ' || j.work) LIKE lower($%[1]d) ESCAPE '\'
			OR EXISTS (SELECT 1 FROM driver d WHERE d.job = j.number AND lower(d.side || ' ' || d.type || ' ' || d.serial) LIKE lower($%[1]d) ESCAPE '\'))`, len(args))
	}
	var list []Summary
	err := b.read(ctx, func(rows *sql.Rows) error {
		var s Summary
		var opened string
		if err := rows.Scan(&s.Number, &s.Title, &s.Customer, &opened, &s.Drivers, &s.Last); err != nil {
			return err
		}
		s.Opened = moment(opened)
		list = append(list, s)
		return nil
	}, `SELECT j.number, j.title, j.customer, j.opened, (SELECT count(*) FROM driver WHERE job = j.number),
		coalesce((SELECT s.name FROM stage s JOIN driver d ON d.id = s.driver WHERE d.job = j.number ORDER BY s.id DESC LIMIT 1), '')
		FROM job j WHERE `+where+` ORDER BY j.number DESC LIMIT $1`, args...)
	return list, err
}

// Unit is the result of one stage in a list.
type Unit struct {
	Ref          Ref
	Type, Serial string
	Measured     time.Time // when the last sweep was added
	Verdict      string
	Values       map[param.ID]Value
	Fit          json.RawMessage // of the units that Which.FitOf wants
}

// Which says of which stages the results are wanted; empty fields want all.
type Which struct {
	Job          int
	Type, Serial string
	Verdict      string
	// Last is only the last complete stage of each driver; one that came back in another job is known by
	// type and serial number.
	Last bool
	// FitOf is how many results there are to one that comes with its fit, which takes much longer to
	// read than its values: 1 is all, 0 none.
	FitOf int
}

// Sheet is a spec sheet that units were judged by.
type Sheet struct {
	SHA256, Name string // empty: without a sheet
	Units        int
}

// Sheets returns the sheets of the drivers of a type, with the number of their drivers.
func (b *Book) Sheets(ctx context.Context, kind string) ([]Sheet, error) {
	return b.sheets(ctx, `type = $1`, kind)
}

func (b *Book) sheets(ctx context.Context, where string, args ...any) ([]Sheet, error) {
	var list []Sheet
	err := b.read(ctx, func(rows *sql.Rows) error {
		var s Sheet
		if err := rows.Scan(&s.SHA256, &s.Name, &s.Units); err != nil {
			return err
		}
		list = append(list, s)
		return nil
	}, `SELECT sheet, max(sheet_name), count(*) FROM driver WHERE `+where+` GROUP BY sheet ORDER BY count(*) DESC, sheet`, args...)
	return list, err
}

// AllSheets returns the sheets that drivers of any type have, those of most drivers first.
func (b *Book) AllSheets(ctx context.Context) ([]Sheet, error) {
	return b.sheets(ctx, `sheet != ''`)
}

// EachUnit hands the results to visit one by one, in the order in which the stages began.
func (b *Book) EachUnit(ctx context.Context, w Which, visit func(Unit) error) error {
	where, args := conditions("d.job", w.Job, "d.type", w.Type, "d.serial", w.Serial, "r.verdict", w.Verdict)
	if w.Last {
		where += ` AND ` + wholeSQL("s.name") + ` AND NOT EXISTS (SELECT 1 FROM stage l WHERE l.driver = s.driver AND l.id > s.id AND ` + wholeSQL("l.name") + `)`
		if w.Job == 0 { // || keeps the database from an index of types, which are all the same in a lot
			where += ` AND (d.serial = '' OR NOT EXISTS (SELECT 1 FROM driver e JOIN stage l ON l.driver = e.id
				WHERE e.serial = d.serial AND e.id != d.id AND e.type || '' = d.type AND l.id > s.id AND ` + wholeSQL("l.name") + `))`
		}
	}
	fit := "NULL"
	if w.FitOf > 0 {
		fit = fmt.Sprintf("CASE WHEN s.id %% %d = 0 THEN (SELECT fit FROM report WHERE stage = s.id) END", w.FitOf)
	}
	values := newValueScan()
	return b.read(ctx, func(rows *sql.Rows) error {
		var u Unit
		var measured string
		var fit sql.NullString
		if err := rows.Scan(append([]any{&u.Ref.Job, &u.Ref.Side, &u.Ref.Stage, &u.Type, &u.Serial, &measured, &u.Verdict, &fit}, values.targets()...)...); err != nil {
			return err
		}
		u.Measured, u.Values, u.Fit = moment(measured), values.values(), json.RawMessage(fit.String)
		return visit(u)
	}, `SELECT d.job, d.side, s.name, d.type, d.serial, r.measured, r.verdict, `+fit+`, `+valueColumns("r.")+`
		FROM stage s JOIN driver d ON d.id = s.driver JOIN result r ON r.stage = s.id WHERE `+where+` ORDER BY s.id`, args...)
}

// WithSweep finds the driver, of the last job if there are several, that has the recording with
// this SHA-256, of itself or of a part of its network; none is job 0.
func (b *Book) WithSweep(ctx context.Context, hash string) (Ref, error) {
	var ref Ref
	err := b.read(ctx, func(rows *sql.Rows) error { return rows.Scan(&ref.Job, &ref.Side) },
		`SELECT d.job, d.side FROM (SELECT stage FROM sweep WHERE sha256 = $1 UNION SELECT stage FROM part WHERE sha256 = $1) w
		JOIN stage s ON s.id = w.stage JOIN driver d ON d.id = s.driver ORDER BY d.job DESC LIMIT 1`, hash)
	return ref, err
}
