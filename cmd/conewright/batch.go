package main

import (
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"slices"
	"syscall"
	"unicode/utf8"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/inputs"
	"conewright/cmd/internal/printable"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
	"conewright/ts"
	"conewright/ts/notice"
	"conewright/ts/verdict"
)

var batchCommand = command{
	name:     "batch",
	synopsis: "DIR|FILES...|MANIFEST|JOB|book:TYPE [--spec SHEET] [options]",
	summary:  "many drivers against one spec sheet, best pairs",
	about: `Fits many drivers and judges each: one line a unit, then a summary of the lot. In a folder each
file is a unit. A manifest, a table with the columns unit, file, mass, box and dc (only file is
needed), names repeats and loads; other columns, such as serial, operator, station and date, are
kept with the unit. Units with the same entry in the column group, or in the one that --groups
names, are judged as groups: control charts are then of their means and ranges. Of a job in the
book, job:12, each driver is a unit, at its last stage. Of a type, book:Larch-25, the results count
that the book keeps, without pairs and without fitting anything anew. A unit that cannot be read or
fitted is reported and never stops the rest. With -o FILE an interrupted run can be continued with
--resume.`,
	examples: `
conewright batch sweeps/ --spec larch.toml --bench bench.toml
conewright batch lot7.csv --spec larch.toml --bench bench.toml --csv -o lot7-result.csv
conewright batch lot7.csv --spec larch.toml --bench bench.toml --csv -o lot7-result.csv --resume
conewright batch lot7.csv --spec larch.toml --bench bench.toml --report lot7.html --tables lot7
conewright batch job:12 --report lot.html
conewright batch book:Larch-25 --tables larch`,
	setup: func(g *optionGroups) action {
		var b batchJob
		b.define(g)
		return b.run
	},
}

// batchJob is one run over many units.
type batchJob struct {
	sheet  specOption
	bench  benchOptions
	out    outputOptions
	resume bool
	jobs   int
	groups string // column of the manifest
	tables lotTables

	spec  *verdict.Spec
	units []unit
	seen  inputs.Contents // of the units that were judged

	testOnlyStep func(finished int) // may interrupt the run
}

func (b *batchJob) define(g *optionGroups) {
	b.sheet.define(g)
	b.bench.define(g)
	b.out.define(g)
	lot := g.group("Lot")
	lot.StringVar(&b.tables.folder, "tables", "", "also write units, pairs and summary into this `DIR`, as CSV and as Parquet")
	lot.StringVar(&b.groups, "groups", report.GroupColumn, "`COLUMN` of the manifest whose entries, such as a day or a station, make groups for the control charts")
	run := g.group("Run")
	run.BoolVar(&b.resume, "resume", false, "continue an interrupted run with the same -o FILE")
	run.IntVar(&b.jobs, "jobs", runtime.NumCPU(), "work on `N` units at a time")
}

// batchMemory is the memory, in bytes, that a batch tries to stay below.
const batchMemory = 96 << 20

func (b *batchJob) run(c *console, args []string) (answer, error) {
	if kind, ok := wholeType(args); ok {
		return b.runBook(c, kind)
	}
	if err := b.prepare(args); err != nil {
		return done, err
	}
	// Nearly all memory is of the moment of one unit: collecting seldom lets two
	// cores do twice the work of one. What is kept of a large lot lives long; near
	// the limit memory is collected more often instead.
	defer debug.SetGCPercent(debug.SetGCPercent(400))
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(batchMemory))
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	defer stop()
	var lot *report.Lot
	var err error
	if b.out.file == "" {
		lot, err = b.stream(ctx, c)
	} else {
		lot, err = b.toFile(ctx, c)
	}
	if err != nil {
		return done, err
	}
	if n := lot.Failed; n > 0 {
		return done, &someFailedError{n, len(b.units)}
	}
	return lotAnswer(lot), nil
}

// lotAnswer is the answer for a lot of which nothing failed.
func lotAnswer(lot *report.Lot) answer {
	switch {
	case lot.OutOfSpec > 0:
		return outOfSpec
	case lot.Undecided > 0:
		return undecided
	}
	return done
}

// someFailedError makes the exit code say that the lot is not complete.
type someFailedError struct{ failed, all int }

func (e *someFailedError) Error() string {
	return fmt.Sprintf("%d of %d units could not be read or fitted", e.failed, e.all)
}

// Hint says where the reasons are.
func (e *someFailedError) Hint() string { return "the lines of those units say why" }

// prepare reads everything that all units share, and finds the units.
func (b *batchJob) prepare(args []string) error {
	if b.jobs < 1 {
		return wrongUse("1 works on one unit after the other", "--jobs %d is too few", b.jobs)
	}
	if b.resume && b.out.file == "" {
		return wrongUse("name the file of the interrupted run with -o FILE", "--resume needs a file to continue")
	}
	if err := b.bench.finish(); err != nil {
		return err
	}
	if err := b.out.finish(); err != nil {
		return err
	}
	var err error
	if isRef(freeFiles(args)) {
		b.units, err = b.bench.bookUnits(args, &b.sheet)
	} else {
		b.units, err = findUnits(args)
	}
	if err != nil {
		return err
	}
	if b.spec, err = b.sheet.read(); err != nil {
		return err
	}
	if b.groups != report.GroupColumn && !slices.ContainsFunc(b.units, func(u unit) bool { return u.about.Get(b.groups) != "" }) {
		return wrongUse("add the column to the manifest, or leave --groups out", "no unit has an entry in the column %q", b.groups)
	}
	var files []loadFile
	for _, u := range b.units {
		files = append(files, u.files...)
	}
	others := append(b.sheet.reads(), b.bench.reads()...)
	if len(args) == 1 {
		others = append(others, inputs.File{Path: args[0], Role: "the manifest"})
	}
	if b.out.file != "" {
		b.out.targets = append(b.out.targets, b.out.file+partEnding)
	}
	if err := b.tables.finish(&b.out); err != nil {
		return err
	}
	return b.out.spare(files, others...)
}

// stream writes each unit to the screen as soon as its turn comes.
func (b *batchJob) stream(ctx context.Context, c *console) (*report.Lot, error) {
	lot, err := b.newLot()
	if err != nil {
		return nil, err
	}
	lines := b.lines(c.out)
	if err := lines.Head(); err != nil {
		return nil, err
	}
	err = b.tables.withUnits(b.aboutColumns(), func(table report.Lines) error {
		return ordered(ctx, len(b.units), b.jobs, func(i int) *batch.Unit { return b.fit(b.units[i], nil) },
			func(_ int, u *batch.Unit) error {
				b.judge(u)
				lot.Add(u)
				return errors.Join(lines.Unit(u), table.Unit(u))
			})
	})
	if err != nil {
		return nil, err
	}
	return lot, b.finish(c, c.out, lot)
}

// newLot begins the lot.
func (b *batchJob) newLot() (*report.Lot, error) {
	lot, err := report.NewLot(b.spec, b.sheet.pair)
	if err == nil {
		lot.GroupBy(b.groups)
	}
	return lot, err
}

// partEnding is added to the name of the result for the journal of a run that is
// not finished.
const partEnding = ".part"

// toFile works on a journal beside the file, so that nothing is lost when the
// run is interrupted, and writes the file from it at the end.
func (b *batchJob) toFile(ctx context.Context, c *console) (*report.Lot, error) {
	journal, err := b.openJournal()
	if err != nil {
		return nil, err
	}
	count := newProgress(c.screen, len(b.units))
	err = ordered(ctx, len(b.units), b.jobs, func(i int) *batch.Unit { return b.fit(b.units[i], journal) },
		func(_ int, u *batch.Unit) error {
			count.step(u.Failed != nil)
			if b.testOnlyStep != nil {
				b.testOnlyStep(count.units)
			}
			if u.Recalled {
				return nil
			}
			return journal.Add(u)
		})
	count.end()
	if err != nil {
		journal.Close()
		if errors.Is(err, context.Canceled) {
			return nil, &interruptedError{journal.Len(), len(b.units)}
		}
		return nil, err
	}
	lot, err := b.newLot()
	if err != nil {
		journal.Close()
		return nil, err
	}
	err = writeFile(b.out.file, b.out.force || b.resume, func(w io.WriteSeeker) error {
		shown := printable.NewWriter(w)
		lines := b.lines(shown)
		if err := lines.Head(); err != nil {
			return err
		}
		err := b.tables.withUnits(b.aboutColumns(), func(table report.Lines) error {
			for _, unit := range b.units {
				u, err := journal.Get(unit.name)
				if err != nil { // the others are written all the same
					u = &batch.Unit{Name: unit.name, Inputs: inputsOf(unit.files), Failed: batch.FailureOf(err)}
				}
				u.About = unit.about
				b.judge(u)
				lot.Add(u)
				if err := errors.Join(lines.Unit(u), table.Unit(u)); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return err
		}
		return b.finish(c, shown, lot)
	})
	if err != nil {
		journal.Close()
		return nil, err
	}
	return lot, journal.Remove()
}

// interruptedError says how to go on.
type interruptedError struct{ finished, all int }

func (e *interruptedError) Error() string {
	return fmt.Sprintf("interrupted after %d of %d units", e.finished, e.all)
}

// Hint says how to go on.
func (e *interruptedError) Hint() string {
	return "the same command with --resume continues; nothing is lost"
}

// openJournal begins a journal or continues the one that is there.
func (b *batchJob) openJournal() (*batch.Journal, error) {
	path := b.out.file + partEnding
	if err := checkTarget(path, true); err != nil {
		return nil, err
	}
	_, err := os.Lstat(path)
	switch {
	case errors.Is(err, fs.ErrNotExist) || err == nil && b.out.force:
		return batch.CreateJournal(path, b.basis())
	case err != nil:
		return nil, err
	case b.resume:
		return batch.OpenJournal(path, b.basis())
	}
	return nil, notice.New("batch-unfinished", notice.Facts{"path": path})
}

// basis is what the results of all units rest on.
func (b *batchJob) basis() batch.Basis {
	basis := batch.Basis{Version: version(), Bench: b.bench.record(), Calibration: b.bench.calibrationHash}
	if b.sheet.input != nil {
		basis.Sheet = b.sheet.input.SHA256
	}
	return basis
}

// basis is the hash of what the result of this unit alone rests on.
func (u unit) basis(inputs []saved.Input) string {
	h := sha256.New()
	for i, in := range inputs {
		fmt.Fprintln(h, in.SHA256, in.Load, u.files[i].unsaid)
	}
	if u.dc != nil {
		fmt.Fprintln(h, "dc", *u.dc)
	}
	if u.bench != nil { // the book may have corrected it meanwhile
		fmt.Fprintln(h, "bench", u.bench.record(), u.bench.calibrationHash)
	}
	return hex.EncodeToString(h.Sum(nil))
}

// lines is the writer of the wanted form.
func (b *batchJob) lines(w io.Writer) report.Lines {
	widest := 0
	for _, u := range b.units {
		widest = max(widest, utf8.RuneCountInString(printable.Line(u.name)))
	}
	return report.NewLines(b.form(), w, b.spec, widest, b.aboutColumns())
}

// form is the one that is wanted.
func (b *batchJob) form() string {
	switch {
	case b.out.json:
		return "json"
	case b.out.csv:
		return "csv"
	}
	return "text"
}

// aboutColumns are the columns of what the manifest says beside the files.
func (b *batchJob) aboutColumns() []string {
	var about []string
	for _, u := range b.units {
		for _, s := range u.about {
			if !slices.Contains(about, s.Name) {
				about = append(about, s.Name)
			}
		}
	}
	return about
}

// finish writes the summary: behind the lines in text and JSON, beside them for
// CSV, which has room for units only.
func (b *batchJob) finish(c *console, w io.Writer, lot *report.Lot) error {
	r := report.Batch(report.Job{Version: version(), Spec: b.sheet.input, All: b.out.all}, b.benchOfAll(), lot)
	switch {
	case b.out.json:
		if err := report.JSONLine(w, r); err != nil {
			return err
		}
	case b.out.csv:
		if err := report.Text(c.err, r); err != nil {
			return err
		}
	default:
		if _, err := fmt.Fprintln(w); err != nil {
			return err
		}
		if err := report.Text(w, r); err != nil {
			return err
		}
	}
	if err := b.tables.writeLot(r); err != nil {
		return err
	}
	r.First, r.Tables = lot.FirstTable(), append(r.Tables, lot.UnitTable())
	return b.out.writeSheet(r)
}

// benchOfAll is the bench that the units have in common; nothing where those from the book were not
// measured alike, or only their results are known.
func (b *batchJob) benchOfAll() saved.Settings {
	switch {
	case len(b.units) == 0:
		return nil
	case b.units[0].bench == nil: // nor have the others
		return b.bench.record()
	case slices.ContainsFunc(b.units, func(u unit) bool { return u.bench != b.units[0].bench }):
		return nil
	}
	return b.units[0].bench.record()
}

// judge holds a unit against the units before it, whose data it must not have, and against
// the sheet.
func (b *batchJob) judge(u *batch.Unit) {
	if u.Failed != nil {
		return
	}
	for _, in := range u.Inputs {
		if err := b.seen.Add(inputs.File{Path: in.Path, Role: "unit " + u.Name, Content: in.Content()}); err != nil {
			u.Failed = batch.FailureOf(err)
			return
		}
	}
	if b.spec == nil {
		return
	}
	checked, err := ts.Check(u.Parameters, *b.spec)
	if err != nil {
		u.Failed = batch.FailureOf(err)
		return
	}
	u.Checked = checked
	u.Warnings = append(u.Warnings, wording.Notices(checked.Warnings)...)
}

// fit reads and fits one unit, or takes it from the journal of an earlier run if its
// files are still the same. Whatever goes wrong stays with this unit. The journal may be nil.
func (b *batchJob) fit(u unit, journal *batch.Journal) (result *batch.Unit) {
	result = &batch.Unit{Name: u.name, Inputs: inputsOf(u.files), About: u.about}
	defer func() {
		if p := recover(); p != nil {
			result.Failed = &batch.Failure{Message: fmt.Sprintf("internal error: %v", p), Hint: "please report it, with the file if you may"}
		}
	}()
	all, err := openAll(u.files, "", nil)
	if err != nil {
		result.Failed = batch.FailureOf(err)
		return result
	}
	defer all.close()
	result.Inputs = all.inputs("") // so that it can be told which file failed
	result.Basis = u.basis(result.Inputs)
	if journal != nil && journal.Has(u.name) {
		if earlier, err := journal.Get(u.name); err == nil && earlier.Failed == nil && earlier.Basis == result.Basis {
			earlier.Recalled = true
			return earlier
		}
	}
	bench := b.bench
	if u.bench != nil {
		bench = *u.bench
	}
	if u.dc != nil {
		bench.dc.value, bench.dc.given = *u.dc, true
	}
	side, _, err := all.fit(&bench, "")
	if err != nil {
		result.Failed = batch.FailureOf(err)
		return result
	}
	result.Parameters = batch.Reduced(side.Parameters, b.spec)
	result.Warnings = side.Noticed
	if side.Fitted != nil {
		result.Warnings = append(result.Warnings, wording.Notices(side.Fitted.Warnings)...)
	}
	return result
}

// inputsOf names the files before they are read.
func inputsOf(files []loadFile) []saved.Input {
	var inputs []saved.Input
	for _, f := range files {
		inputs = append(inputs, saved.Input{Path: f.path, Load: f.load})
	}
	return inputs
}
