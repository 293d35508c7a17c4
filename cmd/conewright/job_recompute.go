package main

import (
	"context"
	"fmt"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/report"
)

var jobRecomputeCommand = command{
	name: "job recompute", synopsis: "JOB[/DRIVER[/STAGE]] [options]", summary: "compute anew from the raw files",
	about: `Computes the results of a job anew from its raw files, with this version of the program, and
lists what comes out differently. Bench options replace those that were kept, for good: so a
wrong resistor is put right, or a forgotten volume of a cabinet.`,
	examples: `
conewright job recompute job:1/left/in-cabinet --volume 60L
conewright job recompute job:1
conewright job recompute job:1/left/as-received --resistor 10.12`,
	setup: func(g *optionGroups) action {
		var bench benchOptions
		var box boxOptions
		box.defineIn(g.group("Cabinet, of a stage in-cabinet"))
		bench.define(g)
		return func(c *console, args []string) (answer, error) {
			ref, err := oneRef(args, stagePart, "conewright job recompute job:1")
			if err != nil {
				return done, err
			}
			if err := bench.finish(); err != nil {
				return done, err
			}
			if box.given() && !book.IsInCabinet(ref.Stage) {
				return done, wrongUse("conewright job recompute job:1/left/in-cabinet --volume 60L", "volume and tuning are those of one stage in the cabinet, and %s is none", ref)
			}
			if err := box.check(); err != nil {
				return done, err
			}
			o := bookOption{bench.book}
			return done, o.with(false, func(ctx context.Context, b *book.Book) error { return recompute(ctx, c, b, ref, &bench, box) })
		}
	},
}

// recompute renews the stages that a reference names.
func recompute(ctx context.Context, c *console, b *book.Book, ref book.Ref, bench *benchOptions, box boxOptions) error {
	job, err := b.Job(ctx, ref.Job)
	if err != nil {
		return err
	}
	t := report.Table{Columns: []report.Column{{Head: "stage"}, {Head: ""}, {Head: "was", Align: report.Point}, {Head: "is", Align: report.Point}, {Head: ""}}}
	stages := 0
	var notes []string
	for _, d := range job.Drivers {
		for _, s := range d.Stages {
			if book.IsInCabinet(s.Name) { // after the driver in free air
				continue
			}
			if ref.Side != "" && d.Side != ref.Side || ref.Stage != "" && s.Name != ref.Stage {
				continue
			}
			stages++
			at := book.Ref{Job: ref.Job, Side: d.Side, Stage: s.Name}
			anew, err := computeAnew(ctx, b, at, d, s, bench)
			if err != nil {
				return fmt.Errorf("%s: %w", at, err)
			}
			if err := b.Renew(ctx, anew); err != nil {
				return err
			}
			rows, err := differences(at, s, anew)
			if err != nil {
				return fmt.Errorf("%s: %w", at, err)
			}
			t.Rows = append(t.Rows, rows...)
		}
		if ref.Side != "" && d.Side != ref.Side {
			continue
		}
		boxes, err := renewInCabinet(ctx, b, ref.Job, d.Side, bench, box, func(_ book.Driver, s book.Stage) bool { return ref.Stage == "" || s.Name == ref.Stage })
		if err != nil {
			return err
		}
		if len(boxes.failed) > 0 && ref.Stage != "" {
			return boxes.failed[0]
		}
		stages, notes = stages+len(boxes.stages), append(notes, boxes.notes()...)
		for _, one := range boxes.stages {
			at := book.Ref{Job: ref.Job, Side: d.Side, Stage: one.name}
			rows, err := boxDifferences(at, one.was, one.is)
			if err != nil {
				return fmt.Errorf("%s: %w", at, err)
			}
			t.Rows = append(t.Rows, rows...)
		}
	}
	if stages+len(notes) == 0 {
		return missingRef(ref)
	}
	if len(t.Rows) == 0 {
		_, err = fmt.Fprintf(c.out, "%s computed anew: nothing came out differently.\n", stagesWords(stages))
	} else {
		err = list(c, stagesWords(stages)+" computed anew; different are", t)
	}
	if err != nil {
		return err
	}
	return sayNotes(c, notes)
}

// computeAnew computes the result of a stage from its raw files, as it replaces the one that the book has.
func computeAnew(ctx context.Context, b *book.Book, at book.Ref, d book.Driver, s book.Stage, bench *benchOptions) (anew book.Addition, err error) {
	switch {
	case s.Name == book.Parts:
		return partsAnew(b, at, s, bench)
	case book.IsInCabinet(s.Name):
		return cabinetAnew(ctx, b, at, d, s, bench, boxOptions{}.empty())
	}
	own, err := bench.at(b, s)
	if err != nil {
		return anew, err
	}
	anew = book.Addition{Ref: at, Known: len(s.Sweeps)}
	if err := own.into(&anew); err != nil {
		return anew, err
	}
	var sheet specOption
	if d.Sheet != "" {
		if sheet.path, err = b.RawFile(ctx, d.Sheet); err != nil {
			return anew, err
		}
	}
	anew.Result, _, err = compute(stageFiles(b, s, nil), own, &sheet)
	return anew, err
}

func stagesWords(n int) string {
	if n == 1 {
		return "1 stage"
	}
	return fmt.Sprintf("%d stages", n)
}
