package main

import (
	"context"
	"fmt"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/specsheet"
	"conewright/cmd/internal/wording"
	"conewright/ts/verdict"
)

// renewal is what became of stages in the cabinet that were to be computed anew.
type renewal struct {
	stages []renewedStage
	failed []error // of those that could not be computed; they stay as they were
}

// renewedStage is a stage in the cabinet that was computed anew.
type renewedStage struct {
	name    string
	was, is *book.Cabinet // was is nil where there was nothing
}

// judged is its verdict.
func (s renewedStage) judged() book.Judged {
	j := book.Judged{Stage: s.name, Is: s.is.Verdict}
	if s.was != nil {
		j.Was = s.was.Verdict
	}
	return j
}

// turned are the verdicts that are not what they were.
func (r renewal) turned() []book.Judged {
	var list []book.Judged
	for _, s := range r.stages {
		if j := s.judged(); j.Was != j.Is {
			list = append(list, j)
		}
	}
	return list
}

// notes say what could not be computed, and what to do.
func (r renewal) notes() []string {
	var list []string
	for _, err := range r.failed {
		message, hint := wording.Error(err)
		if hint != "" {
			message += "; " + hint
		}
		list = append(list, "it stays as it was, for it cannot be computed anew: "+message)
	}
	return list
}

// renewInCabinet computes stages in the cabinet anew, those of a driver that are wanted. Bench options of the command line hold where
// a stage is named.
func renewInCabinet(ctx context.Context, b *book.Book, job int, side string, bench *benchOptions, box boxOptions, wanted func(d book.Driver, s book.Stage) bool) (r renewal, err error) {
	d, err := b.Driver(ctx, book.Ref{Job: job, Side: side})
	if err != nil {
		return r, err
	}
	for _, s := range d.InCabinet() {
		if !wanted(d, s) {
			continue
		}
		at := book.Ref{Job: job, Side: side, Stage: s.Name}
		anew, err := cabinetAnew(ctx, b, at, d, s, bench, box)
		if err != nil && ctx.Err() == nil {
			r.failed = append(r.failed, fmt.Errorf("%s: %w", at, err))
			continue
		}
		if err == nil {
			err = b.Renew(ctx, anew)
		}
		if err != nil {
			return r, fmt.Errorf("%s: %w", at, err)
		}
		r.stages = append(r.stages, renewedStage{s.Name, s.Cabinet, anew.Cabinet})
	}
	return r, nil
}

// cabinetAnew computes a stage in the cabinet from its raw files, as it replaces what the book has.
func cabinetAnew(ctx context.Context, b *book.Book, at book.Ref, d book.Driver, s book.Stage, bench *benchOptions, box boxOptions) (anew book.Addition, err error) {
	own, err := bench.at(b, s)
	if err != nil {
		return anew, err
	}
	anew = book.Addition{Ref: at, Known: len(s.Sweeps)}
	if err := own.into(&anew); err != nil {
		return anew, err
	}
	in, err := inCabinetOf(b, at.Job, d, s, own, box, nil)
	if err != nil {
		return anew, err
	}
	limits, sheet, err := boxLimits(ctx, b, d)
	if err != nil {
		return anew, err
	}
	found, err := lookInCabinet(b, d, in, limits, sheet)
	if err != nil {
		return anew, err
	}
	anew.Cabinet, err = found.kept()
	return anew, err
}

// boxLimits are the limits for the box in the sheet of a driver; nil: there are none.
func boxLimits(ctx context.Context, b *book.Book, d book.Driver) (*verdict.Spec, *report.SpecInput, error) {
	if d.Sheet == "" {
		return nil, nil, nil
	}
	sheet := specOption{shown: d.SheetName}
	var err error
	if sheet.path, err = b.RawFile(ctx, d.Sheet); err != nil {
		return nil, nil, err
	}
	limits, err := sheet.of(specsheet.Box)
	return limits, sheet.input, err
}
