package book

import (
	"bytes"
	"context"
	"database/sql"
	"encoding/json"
	"fmt"
	"path/filepath"
	"slices"
	"strings"

	"conewright/cmd/internal/rawstore"
	"conewright/cmd/internal/saved"
	"conewright/ts/notice"

	"golang.org/x/sync/errgroup"
)

// File is a file to be kept.
type File struct {
	Path   string
	SHA256 string
}

// Addition is what is added to a stage at once.
type Addition struct {
	Ref         Ref   // with side and stage; both begin with the first addition
	About       About // what is said of the driver; empty texts leave what is there
	Bench       saved.Settings
	Calibration File // Path is empty: none
	Sweeps      []NewSweep
	Known       int      // sweeps that the stage had when Result was computed
	Result      *Result  // of all sweeps of the stage, the new ones included
	Cabinet     *Cabinet // in its place, of a stage in the cabinet
	Parts       []NewPart
	Also        Also // nil: nothing
}

// About is what a driver is.
type About struct {
	Type, Serial string
	Sheet        File // the spec sheet that it is held against; Path is empty: none
}

// NewSweep is a sweep with the file that holds it; its hash is that of the file.
type NewSweep struct {
	File File
	Sweep
}

// Add adds sweeps to a stage together with what was computed from all its sweeps. It is
// refused when the stage has changed meanwhile: then the result is not that of the stage.
func (b *Book) Add(ctx context.Context, a Addition) error {
	return b.keeping(ctx, a.files(), a.Also, func(tx *sql.Tx) error { return b.add(ctx, tx, a) })
}

// AddAll makes many additions at once, or none of them.
func (b *Book) AddAll(ctx context.Context, all []Addition) error {
	var files []File
	for _, a := range all {
		for _, f := range a.files() {
			if !slices.Contains(files, f) { // the sheet is that of all
				files = append(files, f)
			}
		}
	}
	return b.keeping(ctx, files, nil, func(tx *sql.Tx) error {
		for _, a := range all {
			if err := b.add(ctx, tx, a); err != nil {
				return err
			}
		}
		return nil
	})
}

// files are those that the addition brings with it.
func (a Addition) files() []File {
	var files []File
	for _, w := range a.Sweeps {
		files = append(files, w.File)
	}
	for _, p := range a.Parts {
		for _, f := range p.Files {
			if !slices.Contains(files, f) { // known things are those of many parts
				files = append(files, f)
			}
		}
	}
	for _, f := range []File{a.Calibration, a.About.Sheet} {
		if f.Path != "" {
			files = append(files, f)
		}
	}
	return files
}

func (b *Book) add(ctx context.Context, tx *sql.Tx, a Addition) error {
	driver, err := b.driverID(ctx, tx, a.Ref, true)
	if err != nil {
		return err
	}
	if a.About != (About{}) {
		if err := describe(ctx, tx, driver, a.About.asDriver()); err != nil {
			return err
		}
	}
	stage, err := stageFor(ctx, tx, driver, a)
	if err != nil {
		return err
	}
	for _, w := range a.Sweeps {
		if err := insertSweep(ctx, tx, driver, stage, w.File.SHA256, w.Sweep); err != nil {
			return err
		}
	}
	return a.save(ctx, tx, stage)
}

// save replaces what was computed of a stage.
func (a Addition) save(ctx context.Context, tx *sql.Tx, stage int64) error {
	for _, p := range a.Parts {
		if err := savePart(ctx, tx, stage, p.Part); err != nil {
			return err
		}
	}
	if a.Cabinet != nil {
		return saveCabinet(ctx, tx, stage, *a.Cabinet)
	}
	return saveResult(ctx, tx, stage, a.Result)
}

// asDriver is what is said as the fields of a driver.
func (a About) asDriver() Driver {
	d := Driver{Type: a.Type, Serial: a.Serial, Sheet: a.Sheet.SHA256}
	if a.Sheet.Path != "" {
		d.SheetName = filepath.Base(a.Sheet.Path)
	}
	return d
}

// describe replaces what is known of a driver; empty texts leave what is there.
func describe(ctx context.Context, tx *sql.Tx, driver int64, d Driver) error {
	_, err := tx.ExecContext(ctx, `UPDATE driver SET type = coalesce(nullif($1, ''), type), serial = coalesce(nullif($2, ''), serial),
		sheet = coalesce(nullif($3, ''), sheet), sheet_name = coalesce(nullif($4, ''), sheet_name) WHERE id = $5`,
		d.Type, d.Serial, d.Sheet, d.SheetName, driver)
	return err
}

// putsAtOnce is how many raw files are written at a time: each waits for its disk.
const putsAtOnce = 8

// keeping keeps raw files and makes a change that refers to them. A file is written before
// the change begins, which may take long, and once more within it should a deletion by
// another program have taken it away.
func (b *Book) keeping(ctx context.Context, files []File, also Also, change func(tx *sql.Tx) error) error {
	var puts errgroup.Group
	puts.SetLimit(putsAtOnce)
	for _, f := range files {
		puts.Go(func() error { return rawstore.PutFile(ctx, b.raw, f.SHA256, f.Path) })
	}
	if err := puts.Wait(); err != nil {
		return err
	}
	return b.writeWith(ctx, false, also, func(tx *sql.Tx) error {
		for _, f := range files {
			if have, err := b.raw.Has(ctx, f.SHA256); err != nil {
				return err
			} else if !have {
				if err := rawstore.PutFile(ctx, b.raw, f.SHA256, f.Path); err != nil {
					return err
				}
			}
		}
		return change(tx)
	})
}

// driverID finds the driver, and begins it if asked to. No other change gets at the driver until this one
// is done.
func (b *Book) driverID(ctx context.Context, tx *sql.Tx, ref Ref, begin bool) (int64, error) {
	var id int64
	find := func() error {
		return tx.QueryRowContext(ctx, `SELECT id FROM driver WHERE job = $1 AND side = $2`+b.home.rowLock(), ref.Job, ref.Side).Scan(&id)
	}
	if err := find(); err != sql.ErrNoRows {
		return id, err
	}
	if !begin {
		return 0, missing(Ref{Job: ref.Job, Side: ref.Side})
	}
	var there int
	if err := tx.QueryRowContext(ctx, `SELECT count(*) FROM job WHERE number = $1`, ref.Job).Scan(&there); err != nil {
		return 0, err
	}
	if there == 0 {
		return 0, missing(Ref{Job: ref.Job})
	}
	// Another program may begin the same driver at this moment: then this waits for it.
	if _, err := tx.ExecContext(ctx, `INSERT INTO driver (job, side, type, serial, sheet, sheet_name) VALUES ($1, $2, '', '', '', '') ON CONFLICT DO NOTHING`,
		ref.Job, ref.Side); err != nil {
		return 0, err
	}
	return id, find()
}

// stageFor finds or begins the stage, which must be as the addition takes it to be.
func stageFor(ctx context.Context, tx *sql.Tx, driver int64, a Addition) (int64, error) {
	bench, err := benchJSON(a.Bench)
	if err != nil {
		return 0, err
	}
	var id int64
	var have, calibration string
	var sweeps int
	err = tx.QueryRowContext(ctx, `SELECT id, bench, calibration, (SELECT count(*) FROM sweep WHERE stage = stage.id) FROM stage WHERE driver = $1 AND name = $2`,
		driver, a.Ref.Stage).Scan(&id, &have, &calibration, &sweeps)
	if err == sql.ErrNoRows {
		return insert(ctx, tx, `INSERT INTO stage (driver, name, bench, calibration) VALUES ($1, $2, $3, $4) RETURNING id`, driver, a.Ref.Stage, bench, a.Calibration.SHA256)
	}
	if err != nil {
		return 0, err
	}
	if sweeps != a.Known {
		return 0, notice.New("book-changed", notice.Facts{"ref": a.Ref.String()})
	}
	if have != bench || calibration != a.Calibration.SHA256 {
		return 0, notice.New("book-other-bench", notice.Facts{"ref": a.Ref.String()})
	}
	return id, nil
}

// insertSweep adds one sweep, which must not be one of the driver already.
func insertSweep(ctx context.Context, tx *sql.Tx, driver, stage int64, hash string, w Sweep) error {
	var in string
	switch err := tx.QueryRowContext(ctx, `SELECT s.name FROM sweep w JOIN stage s ON s.id = w.stage WHERE s.driver = $1 AND w.sha256 = $2`, driver, hash).Scan(&in); {
	case err == nil:
		return notice.New("book-same-sweep", notice.Facts{"name": w.Name, "stage": in})
	case err != sql.ErrNoRows:
		return err
	}
	_, err := tx.ExecContext(ctx, `INSERT INTO sweep (stage, sha256, name, load, load_value, load_std, repeat, operator, added, version) VALUES ($1, $2, $3, $4, $5, $6, $7, $8, $9, $10)`,
		stage, hash, w.Name, w.Load.Kind.String(), w.Load.Value, w.Load.Std, w.Repeat, w.Operator, stamp(w.Added), w.Version)
	return err
}

// saveResult replaces the result of a stage; nil leaves none.
func saveResult(ctx context.Context, tx *sql.Tx, stage int64, r *Result) error {
	for table, none := range map[string]bool{"result": r == nil, "report": r == nil || len(r.Fit) == 0} {
		if !none {
			continue
		}
		if _, err := tx.ExecContext(ctx, `DELETE FROM `+table+` WHERE stage = $1`, stage); err != nil {
			return err
		}
	}
	if r == nil {
		return nil
	}
	args := []any{stage, stamp(r.Made), r.Version, r.Verdict}
	for _, id := range Kept {
		if v, ok := r.Values[id]; ok {
			args = append(args, v.Value, v.Std)
		} else {
			args = append(args, nil, nil)
		}
	}
	if _, err := tx.ExecContext(ctx, putResult, args...); err != nil {
		return err
	}
	if len(r.Fit) == 0 {
		return nil
	}
	fit, err := compacted(r.Fit)
	if err != nil {
		return err
	}
	_, err = tx.ExecContext(ctx, `INSERT INTO report (stage, fit) VALUES ($1, $2) ON CONFLICT (stage) DO UPDATE SET fit = excluded.fit`, stage, fit)
	return err
}

// putResult is the statement that replaces the values of a result; one statement does less than to delete and to insert.
var putResult = func() string {
	columns := strings.Split("made, version, verdict, "+valueColumns(""), ", ")
	var holders, sets []string
	for i, c := range columns {
		holders = append(holders, fmt.Sprintf("$%d", i+2))
		sets = append(sets, c+" = excluded."+c)
	}
	return `INSERT INTO result (stage, measured, ` + strings.Join(columns, ", ") + `)
		VALUES ($1, (SELECT coalesce(max(added), $2) FROM sweep WHERE stage = $1), ` + strings.Join(holders, ", ") + `)
		ON CONFLICT (stage) DO UPDATE SET measured = excluded.measured, ` + strings.Join(sets, ", ")
}()

// compacted is JSON as the book keeps it.
func compacted(report json.RawMessage) (string, error) {
	var text bytes.Buffer
	err := json.Compact(&text, report)
	return text.String(), err
}

// Renew replaces bench and result of a stage that has so many sweeps.
func (b *Book) Renew(ctx context.Context, a Addition) error {
	return b.keeping(ctx, a.files(), a.Also, func(tx *sql.Tx) error {
		driver, err := b.driverID(ctx, tx, a.Ref, false)
		if err != nil {
			return err
		}
		bench, err := benchJSON(a.Bench)
		if err != nil {
			return err
		}
		var id int64
		var sweeps int
		var other bool // bench or calibration
		err = tx.QueryRowContext(ctx, `SELECT id, (SELECT count(*) FROM sweep WHERE stage = stage.id), bench <> $3 OR calibration <> $4 FROM stage WHERE driver = $1 AND name = $2`,
			driver, a.Ref.Stage, bench, a.Calibration.SHA256).Scan(&id, &sweeps, &other)
		switch {
		case err == sql.ErrNoRows:
			return missing(a.Ref)
		case err != nil:
			return err
		case sweeps != a.Known:
			return notice.New("book-changed", notice.Facts{"ref": a.Ref.String()})
		}
		if other {
			if _, err := tx.ExecContext(ctx, `UPDATE stage SET bench = $1, calibration = $2 WHERE id = $3`, bench, a.Calibration.SHA256, id); err != nil {
				return err
			}
		}
		return a.save(ctx, tx, id)
	})
}

// Judge holds a fit that the book keeps against a sheet and returns the verdict.
type Judge func(of Ref, fit json.RawMessage) (verdict string, err error)

// Judged is a stage that was held against another sheet.
type Judged struct {
	Stage   string
	Was, Is string // verdicts
}

// Describe says of a driver what it is and which sheet it is held against; empty texts
// leave what is there. With a sheet, every stage is judged by it at once: a verdict by another
// one would not be that of the driver.
func (b *Book) Describe(ctx context.Context, ref Ref, about About, judge Judge) (judged []Judged, err error) {
	err = b.keeping(ctx, Addition{About: about}.files(), nil, func(tx *sql.Tx) error {
		id, err := b.driverID(ctx, tx, ref, false)
		if err != nil {
			return err
		}
		if about.Sheet.Path != "" {
			if judged, err = judgeStages(ctx, tx, id, ref, judge); err != nil {
				return err
			}
		}
		return describe(ctx, tx, id, about.asDriver())
	})
	return judged, err
}

// judgeStages replaces the verdicts on the stages of a driver.
func judgeStages(ctx context.Context, tx *sql.Tx, driver int64, ref Ref, judge Judge) ([]Judged, error) {
	var list []Judged
	var ids []int64
	err := eachRow(ctx, tx, func(rows *sql.Rows) error {
		var id int64
		var j Judged
		var fit string
		err := rows.Scan(&id, &j.Stage, &j.Was, &fit)
		if err == nil {
			j.Is, err = judge(Ref{ref.Job, ref.Side, j.Stage}, json.RawMessage(fit))
		}
		list, ids = append(list, j), append(ids, id)
		return err
	}, `SELECT s.id, s.name, r.verdict, p.fit FROM stage s JOIN result r ON r.stage = s.id JOIN report p ON p.stage = s.id WHERE s.driver = $1 ORDER BY s.id`, driver)
	for i, j := range list {
		if err == nil {
			_, err = tx.ExecContext(ctx, `UPDATE result SET verdict = $1 WHERE stage = $2`, j.Is, ids[i])
		}
	}
	return list, err
}

// insert inserts one row and returns its key, which the statement ends with.
func insert(ctx context.Context, tx *sql.Tx, query string, args ...any) (key int64, err error) {
	err = tx.QueryRowContext(ctx, query, args...).Scan(&key)
	return key, err
}

// hashesOf lists the raw files that a job refers to.
func hashesOf(j Job) []string {
	var list []string
	add := func(hash string) {
		if hash != "" && !slices.Contains(list, hash) {
			list = append(list, hash)
		}
	}
	for _, d := range j.Drivers {
		add(d.Sheet)
		for _, s := range d.Stages {
			add(s.Calibration)
			for _, w := range s.Sweeps {
				add(w.SHA256)
			}
			for _, p := range s.Parts {
				for _, hash := range []string{p.SHA256, p.Open, p.Short, p.Load} {
					add(hash)
				}
			}
		}
	}
	return list
}
