package main

import (
	"context"
	"fmt"
	"slices"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/wording"
	"conewright/sweeps/bench"
	"conewright/ts/notice"
)

// inBook says whether an argument means drivers in the book and not a file.
func inBook(arg string) bool {
	_, whole := book.IsWhole(arg)
	return whole || book.IsRef(arg)
}

// benchKind is what tells one bench from another in the book, where nobody gives benches names.
type benchKind struct {
	wiring   bench.Wiring
	resistor float64 // ohm; 0 for tables
}

func (b *benchOptions) benchKind() benchKind { return benchKind{b.wiring, b.resistor.value.SI} }

// is says whether the stage was measured at the bench that the options describe, as far as they do.
func (b *benchOptions) is(stage *benchOptions) bool {
	return (!b.options.Changed("wiring") || b.wiring == stage.wiring) && (!b.resistor.given || b.resistor.value.SI == stage.resistor.value.SI)
}

// sweptInBook lists the repeats in the book that the arguments name, each with the bench of its
// stage. All must be of one bench.
func (r *repeatJob) sweptInBook(args []string) ([]swept, error) {
	kept, err := openBook(r.bench.book, true)
	if err != nil {
		return nil, err
	}
	defer kept.Close()
	var all []swept
	benches := map[benchKind]bool{}
	others := 0 // rows of another bench than the one that is named
	for _, arg := range args {
		jobs, which, err := repeatsNamed(kept, arg)
		if err != nil {
			return nil, err
		}
		for _, number := range jobs {
			job, err := kept.Job(context.Background(), number)
			if err != nil {
				return nil, err
			}
			if !which.isIn(job) {
				return nil, missingRef(which.ref)
			}
			for _, d := range job.Drivers {
				for _, s := range d.Stages {
					rows := s.Repeats()
					if len(rows) == 0 || !which.has(d, s) {
						continue
					}
					own, err := new(benchOptions).inBook(r.bench.book, kept, s)
					if err != nil {
						return nil, err
					}
					if !r.bench.is(own) {
						others++
						continue
					}
					benches[own.benchKind()] = true
					all = append(all, sweptIn(kept, book.Ref{Job: number, Side: d.Side, Stage: s.Name}, rows, own)...)
				}
			}
		}
	}
	switch {
	case len(benches) > 1:
		return nil, wrongUse("name the bench with --bench FILE, or with --wiring and --resistor: then only its sweeps count",
			"the repeats are of %d benches, with other wirings or resistors", len(benches))
	case len(all) == 0:
		return nil, noRepeats(kept, args, others)
	}
	return all, nil
}

// inBook is the bench of a stage as the book has it, whatever the command line says.
func (b *benchOptions) inBook(folder string, kept *book.Book, s book.Stage) (*benchOptions, error) {
	b.define(newOptionGroups(""))
	b.book = folder
	return b.at(kept, s)
}

// noRepeats says why the arguments name no repeat: a type that no driver has, or repeats that are not there or, so
// many as others says, of another bench.
func noRepeats(kept *book.Book, args []string, others int) error {
	for _, arg := range args {
		kind, ok := book.IsWhole(arg)
		if !ok || kind == "" {
			continue
		}
		switch sheets, err := kept.Sheets(context.Background(), kind); {
		case err != nil:
			return err
		case len(sheets) == 0:
			return notice.New("book-no-type", notice.Facts{"type": kind})
		}
	}
	return notice.New("book-no-repeats", notice.Facts{"others": others})
}

// stagesNamed are the stages that an argument means; empty fields mean all.
type stagesNamed struct {
	kind string
	ref  book.Ref
}

// isIn says whether a job has the driver and the stage that are named.
func (n stagesNamed) isIn(j book.Job) bool {
	return n.ref.Side == "" || slices.ContainsFunc(j.Drivers, func(d book.Driver) bool {
		return d.Side == n.ref.Side && (n.ref.Stage == "" || slices.ContainsFunc(d.Stages, func(s book.Stage) bool { return s.Name == n.ref.Stage }))
	})
}

// has says whether a stage of a driver is one of them.
func (n stagesNamed) has(d book.Driver, s book.Stage) bool {
	return (n.kind == "" || d.Type == n.kind) && (n.ref.Side == "" || d.Side == n.ref.Side) && (n.ref.Stage == "" || s.Name == n.ref.Stage)
}

// repeatsNamed returns the jobs that an argument names, and which of their stages.
func repeatsNamed(kept *book.Book, arg string) (jobs []int, which stagesNamed, err error) {
	if kind, ok := book.IsWhole(arg); ok {
		jobs, err = kept.WithRepeats(context.Background(), kind)
		return jobs, stagesNamed{kind: kind}, err
	}
	if !book.IsRef(arg) {
		return nil, which, wrongUse("name what is in the book only, or files only", "%s is not in the book, and others here are", arg)
	}
	ref, err := book.ParseRef(arg)
	return []int{ref.Job}, stagesNamed{ref: ref}, err
}

// sweptIn are the repeats of a stage as sweeps of a study. A row is a driver of its own: what lies
// between it and another row is not known.
func sweptIn(kept *book.Book, ref book.Ref, rows [][]book.Repeat, own *benchOptions) []swept {
	var all []swept
	for i, row := range rows {
		for _, x := range row {
			x.Place.Driver = fmt.Sprintf("%s, row %d", ref, i+1)
			all = append(all, swept{keptSweep(kept, fmt.Sprintf("%s: %s", ref, x.Sweep.Name), x.Sweep), own, x.Place})
		}
	}
	return all
}

// leftOut says that the sweeps of a stage do not count, and why.
func leftOut(err error) wording.Said {
	why, hint := wording.Error(err)
	return wording.Said{Code: "repeat-left-out", Message: "not counted: " + why, Hint: hint}
}
