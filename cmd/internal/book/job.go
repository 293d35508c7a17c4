package book

import (
	"cmp"
	"context"
	"crypto/rand"
	"database/sql"
	"encoding/json"
	"fmt"
	"regexp"
	"strconv"
	"strings"
	"time"

	"conewright/cmd/internal/saved"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

// Job is one repair, or one lot of an inspection.
type Job struct {
	Number   int       `json:"number"`
	Title    string    `json:"title"`
	Customer string    `json:"customer"`
	Contact  string    `json:"contact"`
	Work     string    `json:"work"` // what was done, for the customer
	Opened   time.Time `json:"opened"`
	Drivers  []Driver  `json:"drivers"`
}

// Driver is one drive unit of a job.
type Driver struct {
	Side      string  `json:"side"` // "left"; of a lot the name of the unit
	Type      string  `json:"type"`
	Serial    string  `json:"serial"`
	Sheet     string  `json:"sheet_sha256"` // of the spec sheet among the raw files; "" for none
	SheetName string  `json:"sheet_name"`
	Stages    []Stage `json:"stages"` // in the order of the work
}

// Stage is a driver in one condition; all its sweeps were made at the same bench.
type Stage struct {
	Name        string         `json:"name"`
	Bench       saved.Settings `json:"bench"`
	Calibration string         `json:"calibration_sha256"` // among the raw files; "" for none
	Sweeps      []Sweep        `json:"sweeps"`
	Result      *Result        `json:"result,omitempty"`
	Cabinet     *Cabinet       `json:"cabinet,omitempty"` // of a stage in the cabinet, in place of a result
	Parts       []Part         `json:"parts,omitempty"`   // of the stage "parts", in place of sweeps
}

// Last is when the last sweep or part was added.
func (s Stage) Last() time.Time {
	var last time.Time
	for _, w := range s.Sweeps {
		last = w.Added
	}
	for _, p := range s.Parts {
		last = p.Added
	}
	return last
}

// Sweep is one raw file of a stage.
type Sweep struct {
	SHA256   string        `json:"sha256"`
	Name     string        `json:"name"` // of the file when it was added
	Load     measured.Load `json:"-"`
	Repeat   string        `json:"repeat"` // what changed since the sweep before; "" if not said
	Operator string        `json:"operator"`
	Added    time.Time     `json:"added"`
	Version  string        `json:"version"` // of the program
}

// Result is what was computed from the sweeps of a stage.
type Result struct {
	Made    time.Time          `json:"made"`
	Version string             `json:"version"`
	Verdict string             `json:"verdict"` // against the sheet of the driver; "" without one
	Values  map[param.ID]Value `json:"-"`
	Fit     json.RawMessage    `json:"fit"` // conewright/fit/1
}

// Value is a value with its standard uncertainty, in SI units.
type Value struct{ Value, Std float64 }

// Kept are the quantities that a result keeps as values of their own.
var Kept = []param.ID{param.Re, param.Fs, param.Qms, param.Qes, param.Qts, param.Mms, param.Cms, param.Rms, param.BL, param.Vas}

// ValuesOf picks the kept quantities from a fit.
func ValuesOf(p param.Parameters) map[param.ID]Value {
	values := map[param.ID]Value{}
	for _, id := range Kept {
		if e, ok := p.Get(id); ok {
			values[id] = Value{e.Value, e.Std}
		}
	}
	return values
}

// Stages that a repair usually has; others may be named.
const (
	AsReceived  = "as-received"
	Stripped    = "stripped"
	NewSurround = "new-surround"
	RunIn       = "run-in"
	InCabinet   = "in-cabinet"
	Parts       = "parts"
)

// Driver returns the driver with this side.
func (j Job) Driver(side string) (Driver, bool) {
	for _, d := range j.Drivers {
		if d.Side == side {
			return d, true
		}
	}
	return Driver{}, false
}

// Stage returns the stage of this name.
func (d Driver) Stage(name string) (Stage, bool) {
	for _, s := range d.Stages {
		if s.Name == name {
			return s, true
		}
	}
	return Stage{}, false
}

// isWhole says whether the driver is complete and stands free at a stage: the others are measured to
// learn about a part, or about the box.
func isWhole(stage string) bool {
	return stage != Stripped && stage != Parts && !IsInCabinet(stage)
}

// wholeSQL is the same as a condition on the name of a stage.
func wholeSQL(name string) string {
	return fmt.Sprintf(`%[1]s NOT IN ('`+Stripped+`', '`+Parts+`', '`+InCabinet+`') AND substr(%[1]s, 1, %[2]d) <> '`+InCabinet+`-'`, name, len(InCabinet)+1)
}

// whole are the stages in which the driver is complete and stands free.
func (d Driver) whole() []Stage {
	var list []Stage
	for _, s := range d.Stages {
		if isWhole(s.Name) {
			list = append(list, s)
		}
	}
	return list
}

// Before returns the stage before the repair, After the one that shows the driver as it is
// now; they are the same where there is only one.
func (d Driver) Before() (Stage, bool) {
	if all := d.whole(); len(all) > 0 {
		return all[0], true
	}
	return Stage{}, false
}

// After returns the last stage in which the driver is complete.
func (d Driver) After() (Stage, bool) {
	if all := d.whole(); len(all) > 0 {
		return all[len(all)-1], true
	}
	return Stage{}, false
}

// Ref names a job, a driver of it or a stage of that: "job:12/left/run-in".
type Ref struct {
	Job         int
	Side, Stage string // may be empty
}

// refStart is what a reference begins with.
const refStart = "job:"

// IsRef says whether a text means a job, a driver or a stage in the book and not a file.
func IsRef(text string) bool { return strings.HasPrefix(text, refStart) }

// wholeStart is what a reference to drivers of the whole book begins with.
const wholeStart = "book:"

// IsWhole says whether a text means drivers of the whole book, "book:" all or "book:Larch-25" those of
// a type, which it returns.
func IsWhole(text string) (kind string, ok bool) { return strings.CutPrefix(text, wholeStart) }

var nameForm = regexp.MustCompile(`^[\p{L}\p{N}][\p{L}\p{N}._+-]{0,63}$`)

// IsName says whether a text may be the name of a driver, a stage or a station.
func IsName(text string) bool { return nameForm.MatchString(text) }

// ParseRef reads a reference; the word "job:" may be left out.
func ParseRef(text string) (Ref, error) {
	parts := strings.Split(strings.TrimPrefix(text, refStart), "/")
	number, err := strconv.Atoi(parts[0])
	if err != nil || number < 1 || len(parts) > 3 {
		return Ref{}, notice.New("book-bad-ref", notice.Facts{"ref": text})
	}
	for _, name := range parts[1:] {
		if !IsName(name) {
			return Ref{}, notice.New("book-bad-name", notice.Facts{"name": name})
		}
	}
	r := Ref{Job: number}
	if len(parts) > 1 {
		r.Side = parts[1]
	}
	if len(parts) > 2 {
		r.Stage = parts[2]
	}
	return r, nil
}

func (r Ref) String() string {
	text := refStart + strconv.Itoa(r.Job)
	if r.Side != "" {
		text += "/" + r.Side
	}
	if r.Stage != "" {
		text += "/" + r.Stage
	}
	return text
}

// NewJob begins a job and returns its number; number and drivers of j are not looked at.
func (b *Book) NewJob(ctx context.Context, j Job) (number int, err error) {
	err = b.write(ctx, func(tx *sql.Tx) error {
		number, err = insertJob(ctx, tx, j)
		return err
	})
	return number, err
}

// insertJob gives the job the next number, and an identity of its own.
func insertJob(ctx context.Context, tx *sql.Tx, j Job) (int, error) {
	number, err := insert(ctx, tx, `INSERT INTO job (title, customer, contact, work, opened, identity) VALUES ($1, $2, $3, $4, $5, $6) RETURNING number`,
		j.Title, j.Customer, j.Contact, j.Work, stamp(j.Opened), rand.Text())
	return int(number), err
}

// Change replaces what a job says of itself; empty texts leave what is there.
func (b *Book) Change(ctx context.Context, number int, title, customer, contact, work string) error {
	return b.write(ctx, func(tx *sql.Tx) error {
		done, err := tx.ExecContext(ctx, `UPDATE job SET
			title = coalesce(nullif($1, ''), title), customer = coalesce(nullif($2, ''), customer),
			contact = coalesce(nullif($3, ''), contact), work = coalesce(nullif($4, ''), work) WHERE number = $5`,
			title, customer, contact, work, number)
		return found(done, err, Ref{Job: number})
	})
}

// found is the error for a change that found nothing to change.
func found(done sql.Result, err error, ref Ref) error {
	if err != nil {
		return err
	}
	if n, err := done.RowsAffected(); err != nil || n > 0 {
		return err
	}
	return missing(ref)
}

// missing is the error for what is not in the book.
func missing(ref Ref) error { return notice.New("book-missing", notice.Facts{"ref": ref.String()}) }

// Job returns a job with everything that belongs to it.
func (b *Book) Job(ctx context.Context, number int) (Job, error) {
	var j Job
	err := b.oneMoment(ctx, func(tx *sql.Tx) (err error) {
		j, err = readJob(ctx, tx, number)
		return err
	})
	return j, err
}

// Driver returns one driver of a job with its stages.
func (b *Book) Driver(ctx context.Context, ref Ref) (Driver, error) {
	var d Driver
	err := b.oneMoment(ctx, func(tx *sql.Tx) (err error) {
		d, err = readDriver(ctx, tx, ref)
		return err
	})
	return d, err
}

func readDriver(ctx context.Context, tx *sql.Tx, ref Ref) (Driver, error) {
	drivers, err := readDrivers(ctx, tx, `d.job = $1 AND d.side = $2`, ref.Job, ref.Side)
	switch {
	case err != nil:
		return Driver{}, err
	case len(drivers) == 0:
		return Driver{}, missing(Ref{Job: ref.Job, Side: ref.Side})
	}
	return drivers[0], nil
}

func readJob(ctx context.Context, tx *sql.Tx, number int) (Job, error) {
	j := Job{Number: number}
	var opened string
	err := tx.QueryRowContext(ctx, `SELECT title, customer, contact, work, opened FROM job WHERE number = $1`, number).
		Scan(&j.Title, &j.Customer, &j.Contact, &j.Work, &opened)
	if err == sql.ErrNoRows {
		return Job{}, missing(Ref{Job: number})
	}
	if err != nil {
		return Job{}, err
	}
	j.Opened = moment(opened)
	j.Drivers, err = readDrivers(ctx, tx, `d.job = $1`, number)
	return j, err
}

// readDrivers returns the drivers for which a condition on the table driver, d, holds.
func readDrivers(ctx context.Context, tx *sql.Tx, where string, args ...any) ([]Driver, error) {
	stages, err := readStages(ctx, tx, where, args...)
	if err != nil {
		return nil, err
	}
	var list []Driver
	err = eachRow(ctx, tx, func(rows *sql.Rows) error {
		var id int64
		var d Driver
		if err := rows.Scan(&id, &d.Side, &d.Type, &d.Serial, &d.Sheet, &d.SheetName); err != nil {
			return err
		}
		d.Stages = stages[id]
		list = append(list, d)
		return nil
	}, `SELECT d.id, d.side, d.type, d.serial, d.sheet, d.sheet_name FROM driver d WHERE `+where+` ORDER BY d.id`, args...)
	return list, err
}

// readStages returns the stages of such drivers by driver.
func readStages(ctx context.Context, tx *sql.Tx, where string, args ...any) (map[int64][]Stage, error) {
	sweeps := map[int64][]Sweep{}
	err := eachRow(ctx, tx, func(rows *sql.Rows) error {
		var stage int64
		var w Sweep
		var load, added string
		if err := rows.Scan(&stage, &w.SHA256, &w.Name, &load, &w.Load.Value, &w.Load.Std, &w.Repeat, &w.Operator, &added, &w.Version); err != nil {
			return err
		}
		w.Load.Kind, w.Added = loadKind(load), moment(added)
		sweeps[stage] = append(sweeps[stage], w)
		return nil
	}, `SELECT w.stage, w.sha256, w.name, w.load, w.load_value, w.load_std, w.repeat, w.operator, w.added, w.version
		FROM sweep w JOIN stage s ON s.id = w.stage JOIN driver d ON d.id = s.driver WHERE `+where+` ORDER BY w.id`, args...)
	if err != nil {
		return nil, err
	}
	cabinets, err := readCabinets(ctx, tx, where, args...)
	if err != nil {
		return nil, err
	}
	parts, err := readParts(ctx, tx, where, args...)
	if err != nil {
		return nil, err
	}
	stages := map[int64][]Stage{}
	err = eachRow(ctx, tx, func(rows *sql.Rows) error {
		var driver, id int64
		var s Stage
		var bench string
		var made, version, verdict, fit sql.NullString
		values := newValueScan()
		if err := rows.Scan(append([]any{&driver, &id, &s.Name, &bench, &s.Calibration, &made, &version, &verdict, &fit}, values.targets()...)...); err != nil {
			return err
		}
		if err := json.Unmarshal([]byte(bench), &s.Bench); err != nil {
			return err
		}
		s.Sweeps, s.Cabinet, s.Parts = sweeps[id], cabinets[id], parts[id]
		if made.Valid {
			s.Result = &Result{Made: moment(made.String), Version: version.String, Verdict: verdict.String, Values: values.values(), Fit: json.RawMessage(fit.String)}
		}
		stages[driver] = append(stages[driver], s)
		return nil
	}, `SELECT s.driver, s.id, s.name, s.bench, s.calibration, r.made, r.version, r.verdict, p.fit, `+valueColumns("r.")+`
		FROM stage s JOIN driver d ON d.id = s.driver LEFT JOIN result r ON r.stage = s.id LEFT JOIN report p ON p.stage = s.id
		WHERE `+where+` ORDER BY s.id`, args...)
	return stages, err
}

func eachRow(ctx context.Context, tx *sql.Tx, row func(rows *sql.Rows) error, query string, args ...any) error {
	rows, err := tx.QueryContext(ctx, query, args...)
	if err != nil {
		return err
	}
	defer rows.Close()
	for rows.Next() {
		if err := row(rows); err != nil {
			return err
		}
	}
	return rows.Err()
}

// valueColumns lists the columns of the kept values: "r.Re, r.Re_std, ...".
func valueColumns(table string) string {
	var names []string
	for _, id := range Kept {
		names = append(names, fmt.Sprintf("%s%s, %s%s_std", table, id, table, id))
	}
	return strings.Join(names, ", ")
}

// valueScan receives the columns of valueColumns.
type valueScan []sql.NullFloat64

func newValueScan() valueScan { return make(valueScan, 2*len(Kept)) }

func (v valueScan) targets() []any {
	var list []any
	for i := range v {
		list = append(list, &v[i])
	}
	return list
}

func (v valueScan) values() map[param.ID]Value {
	values := map[param.ID]Value{}
	for i, id := range Kept {
		if v[2*i].Valid {
			values[id] = Value{v[2*i].Float64, v[2*i+1].Float64}
		}
	}
	return values
}

func loadKind(word string) measured.LoadKind {
	for _, k := range []measured.LoadKind{measured.AddedMass, measured.KnownBox} {
		if k.String() == word {
			return k
		}
	}
	return measured.Free
}

func stamp(t time.Time) string { return t.UTC().Format(time.RFC3339) }

func moment(text string) time.Time {
	t, _ := time.Parse(time.RFC3339, text) // written by stamp
	return t
}

// benchJSON writes the settings of a bench.
func benchJSON(s saved.Settings) (string, error) {
	data, err := json.Marshal(s)
	return cmp.Or(string(data), "{}"), err
}
