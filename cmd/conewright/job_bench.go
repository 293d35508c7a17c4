package main

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"io/fs"
	"path/filepath"
	"slices"
	"strings"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/benchpage"
	"conewright/cmd/internal/book"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/specsheet"
)

// pageStage is a phase of the page with its stage of the book.
type pageStage struct {
	phase benchjob.Phase
	stage string
}

// pageStages are the stages of the book for the phases of the page.
var pageStages = []pageStage{{benchjob.Before, book.AsReceived}, {benchjob.After, book.NewSurround}, {benchjob.BoxBefore, book.InCabinet + "-before"}, {benchjob.BoxAfter, book.InCabinet}}

// isOfPage says whether a stage of the book is one of the page.
func isOfPage(stage string) bool {
	return slices.ContainsFunc(pageStages, func(p pageStage) bool { return p.stage == stage })
}

// inOrder are the stages in the order in which their first sweeps were made: what a driver in its cabinet is held against depends on it.
func inOrder(j benchjob.Job) []pageStage {
	first := func(p pageStage) int {
		return slices.IndexFunc(j.Sweeps, func(s benchjob.Sweep) bool { return s.Phase == p.phase })
	}
	stages := slices.Clone(pageStages)
	slices.SortStableFunc(stages, func(a, b pageStage) int { return cmp.Compare(first(a), first(b)) })
	return stages
}

// readPageJob reads what the page knows of the sweeps in a folder.
func readPageJob(dir string) (benchjob.Job, error) {
	j, err := benchpage.ReadJob(dir)
	if errors.Is(err, fs.ErrNotExist) {
		return j, wrongUse("name the folder of one driver, such as bench-jobs/left-woofer", "%s is no folder of the bench page: it has no job.json", dir)
	}
	return j, err
}

// pageImport is where the sweeps of a folder of the page stand in the book.
type pageImport struct {
	ref   book.Ref // of the driver
	begun bool     // the job is new
	added int      // sweeps
	parts int      // of the network, that were added or are judged anew
	says  []string // what came out differently by that, or by what was typed or chosen since
}

// String says it.
func (p pageImport) String() string {
	if p.begun {
		return fmt.Sprintf("job:%d", p.ref.Job)
	}
	what := fmt.Sprintf("job:%d, which had sweeps of it before; %s added", p.ref.Job, sweepsWords(p.added))
	switch {
	case p.parts > 0:
		what = fmt.Sprintf("job:%d, which was there before; %s and %s added", p.ref.Job, sweepsWords(p.added), partsWords(p.parts))
	case p.added == 0:
		what = fmt.Sprintf("job:%d, which has all of these sweeps already; no sweep was added", p.ref.Job)
	}
	return strings.Join(append([]string{what}, p.says...), "; ")
}

// importPage reads the sweeps of a driver that the bench page kept in a folder into the book: as a new job, or, where a
// job of the book has sweeps of this folder, those that it does not have. Sweeps in free air are fitted before anything is written; what
// rests on them in the book, the cabinet, and the parts follow, each in one piece. What goes wrong there leaves nothing of a new job.
func importPage(ctx context.Context, b *book.Book, dir string) (done pageImport, err error) {
	j, err := readPageJob(dir)
	if err != nil {
		return done, err
	}
	w := &workshop{folder: filepath.Dir(dir)}
	bench, err := w.options(j.Options())
	if err != nil {
		return done, err
	}
	calibration, err := calibrationFile(bench)
	if err != nil {
		return done, err
	}
	record, err := bench.recordForBook()
	if err != nil {
		return done, err
	}
	job, have, err := pageJobInBook(ctx, b, dir, j)
	if err != nil {
		return done, err
	}
	done = pageImport{ref: book.Ref{Job: job.Number, Side: cmp.Or(have.Side, benchjob.Folder(j.Name))}, begun: job.Number == 0}
	sheet := &specOption{path: j.Sheet}
	spec, err := sheet.of(specsheet.Driver)
	if err != nil {
		return done, err
	}
	if !done.begun {
		if err := sameAsKept(dir, j, have, record, calibration, sheet); err != nil {
			return done, wrongUse(fmt.Sprintf("correct the job with conewright job set or job recompute, or remove it with conewright job delete job:%d --really and keep this once more", job.Number),
				"job:%d was made of these sweeps, and %v; nothing was added", job.Number, err)
		}
	}
	box, err := boxOptionsOf(j.Box)
	if err != nil {
		return done, err
	}
	var stages []pageAddition
	for _, s := range inOrder(j) {
		stage, there := have.Stage(s.stage)
		stage.Name = s.stage
		used := j.UsedIn(s.phase)
		files, err := w.files(dir, used)
		if err != nil {
			return done, err
		}
		add := book.Addition{Ref: done.ref, Bench: record, Calibration: calibration, Known: len(stage.Sweeps)}
		add.Ref.Stage = s.stage
		of := bench
		if s.phase.InCabinet() { // its repeats are others
			if of, err = w.options(j.OptionsIn(s.phase)); err != nil {
				return done, err
			}
			if add.Bench, err = of.recordForBook(); err != nil {
				return done, err
			}
		}
		var more []loadFile
		for i, f := range files {
			f.stored, f.path = f.path, filepath.Base(f.path)
			kind := map[benchjob.Kind]string{benchjob.Again: string(benchjob.Again), benchjob.Reclamped: string(benchjob.Reclamped)}[used[i].Kind]
			sweep, err := newSweeps([]loadFile{f}, kind, userName())
			if err != nil {
				return done, err
			}
			if !hasSweep(have, sweep[0].SHA256) {
				add.Sweeps, more = append(add.Sweeps, sweep...), append(more, f)
			}
		}
		if len(more) == 0 {
			continue
		}
		if there { // its bench holds for the whole stage
			if of, err = noBench().at(b, stage); err != nil {
				return done, err
			}
			add.Bench = stage.Bench
		}
		if !s.phase.InCabinet() { // the others are computed when the driver in free air is in the book
			if add.Result, _, err = compute(stageFiles(b, stage, more), of, sheet); err != nil {
				return done, err
			}
		}
		stages = append(stages, pageAddition{add, of, more})
	}
	if done.begun {
		if len(stages)+len(j.UsedParts()) == 0 {
			return done, wrongUse("take a sweep on the page first", "%s holds no sweep that is used", dir)
		}
		if done.ref.Job, err = b.NewJob(ctx, book.Job{Title: cmp.Or(j.Name, "bench page"), Opened: now()}); err != nil {
			return done, err
		}
	}
	defer func() {
		switch {
		case err != nil && done.begun: // half a job is none
			err = errors.Join(err, b.Delete(ctx, done.ref.Job))
		case err != nil && done.added > 0:
			err = fmt.Errorf("%s added to job:%d, and doing this once more goes on from there; %w", sweepsWords(done.added), done.ref.Job, err)
		}
	}()
	for _, add := range stages {
		add.Ref.Job = done.ref.Job
		if book.IsInCabinet(add.Ref.Stage) {
			if add.Cabinet, err = add.inCabinet(ctx, b, box, sheet); err != nil {
				return done, err
			}
		}
		if err := b.Add(ctx, add.Addition); err != nil {
			return done, err
		}
		done.added += len(add.Sweeps)
	}
	if done.parts, err = w.addPageParts(ctx, b, done.ref, dir, j, have); err != nil {
		return done, err
	}
	chosen := sheet.path != "" && have.Sheet == ""
	if chosen {
		judged, err := b.Describe(ctx, done.ref, book.About{Sheet: book.File{Path: sheet.path, SHA256: sheet.input.SHA256}}, judgeBy(spec))
		if err != nil {
			return done, err
		}
		for _, j := range judged {
			if j.Was != j.Is {
				done.says = append(done.says, stageIs(j, chosen))
			}
		}
	}
	says, err := renewPageBoxes(ctx, b, done.ref, box, done.added > 0, chosen)
	done.says = append(done.says, says...)
	return done, err
}

// pageJobInBook finds the driver in the book that has a sweep of the folder; job number 0 is none.
func pageJobInBook(ctx context.Context, b *book.Book, dir string, j benchjob.Job) (book.Job, book.Driver, error) {
	for _, s := range j.Sweeps {
		if s.Aside {
			continue
		}
		f, err := keptFile(filepath.Join(dir, s.File))
		if err != nil {
			return book.Job{}, book.Driver{}, err
		}
		ref, err := b.WithSweep(ctx, f.SHA256)
		if err != nil {
			return book.Job{}, book.Driver{}, err
		}
		if ref.Job == 0 {
			continue
		}
		job, err := b.Job(ctx, ref.Job)
		have, _ := job.Driver(ref.Side)
		return job, have, err
	}
	return book.Job{}, book.Driver{}, nil
}

// hasSweep says whether a driver has a recording, at any stage.
func hasSweep(d book.Driver, hash string) bool {
	return slices.ContainsFunc(d.Stages, func(s book.Stage) bool {
		return slices.ContainsFunc(s.Sweeps, func(w book.Sweep) bool { return w.SHA256 == hash }) ||
			slices.ContainsFunc(s.Parts, func(p book.Part) bool { return p.SHA256 == hash })
	})
}

// sameAsKept refuses a folder whose sheet, bench or choice of sweeps is no longer that of the driver in the book: what the
// book says would not be what the page says.
func sameAsKept(dir string, j benchjob.Job, have book.Driver, record saved.Settings, calibration book.File, sheet *specOption) error {
	hash := ""
	if sheet.input != nil {
		hash = sheet.input.SHA256
	}
	if have.Sheet != "" && hash != have.Sheet {
		return errors.New("its spec sheet is another one")
	}
	for _, s := range have.Stages {
		typed := slices.Concat(benchjob.BenchNames, benchjob.DriverNames)
		switch {
		case s.Name == book.Parts && len(j.UsedParts()) > 0:
			typed = benchjob.BenchNames // a part is no driver
		case !isOfPage(s.Name):
			continue // was added by other commands
		}
		for _, name := range typed {
			if name != calibrationOption && s.Bench.Get(name) != record.Get(name) {
				return fmt.Errorf("%s was typed otherwise for its stage %s", strings.ReplaceAll(name, "-", " "), s.Name)
			}
		}
		if s.Calibration != calibration.SHA256 {
			return fmt.Errorf("the calibration is another one at its stage %s", s.Name)
		}
	}
	for _, s := range j.Sweeps {
		if f, err := keptFile(filepath.Join(dir, s.File)); s.Aside && err == nil && hasSweep(have, f.SHA256) {
			return fmt.Errorf("it uses %s, which is left out here", s.File)
		}
	}
	return nil
}
