package main

import (
	"cmp"
	"context"
	"encoding/json"
	"errors"
	"io/fs"
	"os"
	"path/filepath"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/book"
	"conewright/cmd/internal/infile"
	"conewright/cmd/internal/settings"
)

// pageJobFile is what the bench page keeps in the folder of a driver, beside its sweeps.
const pageJobFile, pageJobSchema = "job.json", "conewright/bench-job/1"

// mostPageJob is the size in bytes up to which it is read.
const mostPageJob = 1 << 20

// isPageFolder says whether a path is a folder of the bench page.
func isPageFolder(path string) bool {
	info, err := os.Stat(path)
	return err == nil && info.IsDir()
}

// pageStages are the stages of the book for the phases of the page.
var pageStages = []struct {
	phase benchjob.Phase
	stage string
}{{benchjob.Before, book.AsReceived}, {benchjob.After, book.NewSurround}}

// importPage reads the sweeps of a driver that the bench page kept in a folder into the book, as a new job.
// Everything is fitted before anything is written.
func importPage(ctx context.Context, b *book.Book, dir string) (number int, err error) {
	path := filepath.Join(dir, pageJobFile)
	data, err := infile.Small(path, mostPageJob)
	if errors.Is(err, fs.ErrNotExist) {
		return 0, wrongUse("name the folder of one driver, such as bench-jobs/left-woofer", "%s is no folder of the bench page: it has no %s", dir, pageJobFile)
	}
	if err != nil {
		return 0, err
	}
	var kept struct {
		Schema string
		Job    benchjob.Job
	}
	if err := json.Unmarshal(data, &kept); err != nil || kept.Schema != pageJobSchema {
		return 0, settings.Place{File: path}.Errorf("use the version of the program that wrote it", "this is not what the bench page writes here")
	}
	j := kept.Job
	w := &workshop{folder: filepath.Dir(dir)}
	bench, err := w.options(j.Options())
	if err != nil {
		return 0, err
	}
	calibration, err := calibrationFile(bench)
	if err != nil {
		return 0, err
	}
	record, err := bench.recordForBook()
	if err != nil {
		return 0, err
	}
	sheet := &specOption{path: j.Sheet}
	var stages []book.Addition
	for _, s := range pageStages {
		used := j.UsedIn(s.phase)
		files, err := w.files(dir, used)
		if err != nil {
			return 0, err
		}
		if len(files) == 0 {
			continue
		}
		add := book.Addition{Ref: book.Ref{Side: benchjob.Folder(j.Name), Stage: s.stage}, Bench: record, Calibration: calibration}
		for i := range files {
			f := &files[i]
			f.stored, f.path = f.path, filepath.Base(f.path)
			kind := map[benchjob.Kind]string{benchjob.Again: string(benchjob.Again), benchjob.Reclamped: string(benchjob.Reclamped)}[used[i].Kind]
			sweep, err := newSweeps([]loadFile{*f}, kind, userName())
			if err != nil {
				return 0, err
			}
			add.Sweeps = append(add.Sweeps, sweep...)
		}
		if add.Result, _, err = compute(files, bench, sheet); err != nil {
			return 0, err
		}
		stages = append(stages, add)
	}
	if len(stages) == 0 {
		return 0, wrongUse("take a sweep on the page first", "%s holds no sweep that is used", dir)
	}
	number, err = b.NewJob(ctx, book.Job{Title: cmp.Or(j.Name, "bench page"), Opened: now()})
	if err != nil {
		return 0, err
	}
	defer func() {
		if err != nil { // half a job is none
			err = errors.Join(err, b.Delete(ctx, number))
		}
	}()
	for _, add := range stages {
		add.Ref.Job = number
		if err := b.Add(ctx, add); err != nil {
			return 0, err
		}
	}
	if sheet.path != "" {
		ref := book.Ref{Job: number, Side: stages[0].Ref.Side}
		return number, b.Describe(ctx, ref, "", "", book.File{Path: sheet.path, SHA256: sheet.input.SHA256})
	}
	return number, nil
}
