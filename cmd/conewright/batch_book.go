package main

import (
	"bufio"
	"context"
	"errors"
	"io"
	"math"
	"runtime/debug"
	"slices"
	"strings"
	"time"

	"conewright/cmd/internal/batch"
	"conewright/cmd/internal/book"
	"conewright/cmd/internal/printable"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/saved"
	"conewright/ts"
	"conewright/ts/notice"
	"conewright/ts/param"
	"conewright/ts/verdict"
)

// wholeType returns the type whose units in the whole book are meant, if they are.
func wholeType(args []string) (kind string, ok bool) {
	if len(args) != 1 {
		return "", false
	}
	return book.IsWhole(args[0])
}

// bookColumns are what is said of a unit from the book.
var bookColumns = []string{"serial", "stage", "date"}

// sampledFits is of how many units the whole fit is read: it says what of the scatter is that of
// the measurement.
const sampledFits = 50

// bookMemory is the memory, in bytes, that it tries to stay below.
const bookMemory = 144 << 20

// runBook reports the units of a type by the results that the book keeps. Verdicts are those of the sheet that
// the drivers have; by another sheet each is judged anew from its fit.
func (b *batchJob) runBook(c *console, kind string) (answer, error) {
	switch {
	case kind == "":
		return done, wrongUse("name the type: conewright batch book:Larch-25", "units of several types are no lot")
	case b.resume:
		return done, wrongUse("leave --resume out", "nothing is fitted that could be continued")
	case b.groups != report.GroupColumn && !slices.Contains(bookColumns, b.groups):
		return done, wrongUse("name one of: "+strings.Join(bookColumns, ", "), "units from the book have no column %q", b.groups)
	}
	if err := errors.Join(b.bench.finish(), b.out.finish()); err != nil {
		return done, err
	}
	if b.bench.anyGiven() {
		return done, wrongUse("leave them out; conewright job recompute has bench options, and computes results anew",
			"bench options change nothing in results that the book keeps")
	}
	if err := b.tables.finish(&b.out); err != nil {
		return done, err
	}
	defer debug.SetGCPercent(debug.SetGCPercent(400)) // as for a batch of files
	defer debug.SetMemoryLimit(debug.SetMemoryLimit(bookMemory))
	kept, err := openBook(b.bench.book, true)
	if err != nil {
		return done, err
	}
	defer kept.Close()
	own, units, err := b.sheetOf(kept, kind)
	if err != nil {
		return done, err
	}
	if b.spec, err = b.sheet.read(); err != nil {
		return done, err
	}
	if err := b.out.spare(nil, b.sheet.reads()...); err != nil {
		return done, err
	}
	which := book.Which{Type: kind, Last: true, FitOf: 1}
	if own {
		which.FitOf = max(1, units/sampledFits)
	}
	lot, err := b.newLot()
	if err != nil {
		return done, err
	}
	lot.WithoutPairs()
	write := func(out io.Writer) error {
		w := bufio.NewWriterSize(out, 1<<16) // all units come at once
		lines := b.bookLines(w)
		if err := lines.Head(); err != nil {
			return err
		}
		err := b.tables.withUnits(bookColumns, func(table report.Lines) error {
			err := kept.EachUnit(context.Background(), which, func(u book.Unit) error {
				unit := b.bookUnit(u, own, which.FitOf == 1)
				lot.Add(unit)
				return errors.Join(lines.Unit(unit), table.Unit(unit))
			})
			if err == nil && lot.Units == 0 {
				return notice.New("book-no-type", notice.Facts{"type": kind})
			}
			return err
		})
		if err != nil {
			return err
		}
		return errors.Join(b.finish(c, w, lot), w.Flush())
	}
	if b.out.file == "" {
		err = write(c.out)
	} else {
		err = writeFile(b.out.file, b.out.force, func(w io.WriteSeeker) error { return write(printable.NewWriter(w)) })
	}
	if err != nil {
		return done, err
	}
	if lot.Failed > 0 {
		return done, &someFailedError{lot.Failed, lot.Units}
	}
	return lotAnswer(lot), nil
}

// sheetOf finds the sheet that the units have unless another is named, and the number of units. With several
// sheets one must be named.
func (b *batchJob) sheetOf(kept *book.Book, kind string) (own bool, units int, err error) {
	sheets, err := kept.Sheets(context.Background(), kind)
	if err != nil {
		return false, 0, err
	}
	for _, s := range sheets {
		units += s.Units
	}
	switch {
	case b.sheet.path != "":
		return false, units, nil
	case len(sheets) > 1:
		return false, 0, wrongUse("name one with --spec: all units are then judged by it",
			"the units of the type %s have %d different sheets, or some have none", kind, len(sheets))
	case len(sheets) == 1 && sheets[0].SHA256 != "":
		b.sheet.shown = sheets[0].Name
		b.sheet.path, err = kept.RawFile(context.Background(), sheets[0].SHA256)
	}
	return true, units, err
}

// bookLines is the writer of the wanted form.
func (b *batchJob) bookLines(w io.Writer) report.Lines {
	const usualName = len("job:1234/left")
	return report.NewLines(b.form(), w, b.spec, usualName, bookColumns)
}

// bookUnit is a result of the book as a unit of the lot; own says that its verdict is by the sheet that the units
// have, every that all come with their fits.
func (b *batchJob) bookUnit(u book.Unit, own, every bool) *batch.Unit {
	ref := u.Ref
	ref.Stage = ""
	unit := &batch.Unit{Name: ref.String(), About: saved.Settings{{Name: "serial", Value: u.Serial}, {Name: "stage", Value: u.Ref.Stage}, {Name: "date", Value: u.Measured.Format(time.DateOnly)}}}
	var fit saved.Fit
	if len(u.Fit) > 0 {
		read, err := saved.Read(u.Fit, u.Ref.String())
		if err != nil {
			unit.Failed = batch.FailureOf(err)
			return unit
		}
		fit = *read
	}
	if own {
		unit.Parameters = keptParameters(u.Values, fit.Parameters)
	} else {
		unit.Parameters = batch.Reduced(fit.Parameters, b.spec)
	}
	switch {
	case !own:
		b.judge(unit)
	case b.spec != nil:
		unit.Checked = b.keptVerdict(u, fit, every)
	}
	return unit
}

// keptVerdict is the verdict that the book keeps, with its reasons where every fit was read. An earlier version may
// have judged otherwise: then the verdict stands, and conewright check says why.
func (b *batchJob) keptVerdict(u book.Unit, fit saved.Fit, every bool) *verdict.Checked {
	kept := verdictOf(u.Verdict)
	if every && len(u.Fit) > 0 {
		if checked, err := ts.Check(fit.Parameters, *b.spec); err == nil && checked.Verdict == kept {
			return checked
		}
	}
	return &verdict.Checked{Spec: *b.spec, Verdict: kept}
}

// verdictOf reads the word that the book keeps.
func verdictOf(word string) verdict.Verdict {
	for _, v := range []verdict.Verdict{verdict.InSpec, verdict.OutOfSpec} {
		if v.String() == word {
			return v
		}
	}
	return verdict.Undecided
}

// keptParameters are values as parameters whose errors are their own: enough for the statistics of a
// lot, not to be judged by. What of an error is another one in each unit is known where there is a fit.
func keptParameters(values map[param.ID]book.Value, fit param.Parameters) param.Parameters {
	p := param.Parameters{Coverage: 1.96}
	var random, rest []float64
	for _, id := range book.Kept {
		v, ok := values[id]
		if !ok {
			continue
		}
		own := 0.
		if e, ok := fit.Get(id); ok {
			own = math.Min(v.Std, math.Hypot(e.Budget.Noise, e.Budget.Repeat))
		}
		of := 1.
		if id.Info().Positive {
			of = v.Value
		}
		p.IDs, p.Scaled = append(p.IDs, id), append(p.Scaled, id.Scale(v.Value))
		random, rest = append(random, own/of), append(rest, math.Sqrt(v.Std*v.Std-own*own)/of)
	}
	n := len(p.IDs)
	p.Origin = make([]param.Origin, n)
	add := func(part param.Part, stds []float64) {
		effects := make([]float64, n*n)
		for i, std := range stds {
			effects[i*n+i] = std
			p.Components = append(p.Components, param.Component{Part: part, Own: true, Effect: effects[i*n : (i+1)*n]})
		}
	}
	add(param.BenchPart, rest)
	if len(fit.IDs) > 0 {
		add(param.NoisePart, random)
	}
	return p
}
