//go:build work

package main

import (
	"context"
	"errors"
	"fmt"
	"os"
	"os/signal"
	"runtime"
	"runtime/debug"
	"sync/atomic"
	"syscall"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/report"
	"conewright/cmd/internal/wording"
	"conewright/cmd/internal/work"
)

func workCommands() []command { return []command{workCommand} }

var workCommand = command{
	name:     "work",
	synopsis: "run|add|again|list",
	summary:  "compute results of a shared book, on any machine",
	about: `Computes the results of a book on a server from its raw files, on as many machines as there are: each runs
"work run". "work add" puts many units into the book for them, "work again" has results computed anew, "work
list" shows what is left to do and what failed. A worker that is ended loses nothing.`,
	examples: `
conewright work add job:7 lot7.csv --spec larch.toml --bench bench.toml --book postgres://hand@db.example/conewright
conewright work run --book postgres://worker@db.example/conewright`,
	verbs: []command{workRunCommand, workAddCommand, workAgainCommand, workListCommand},
	grace: 6 * time.Second, // it ends by itself before
}

// withQueue opens the book and its queue.
func (o *bookOption) withQueue(act func(ctx context.Context, b *book.Book, q *work.Queue) error) error {
	place, err := book.Place(o.folder)
	if err != nil {
		return err
	}
	if !book.IsServer(place) {
		return wrongUse("name it: --book postgres://USER@HOST/DATABASE", "workers need a book on a server, and %s is a folder", place)
	}
	return o.with(false, func(ctx context.Context, b *book.Book) error {
		q, err := work.Open(ctx, place)
		if err != nil {
			return err
		}
		defer q.Close()
		return act(ctx, b, q)
	})
}

var workRunCommand = command{
	name: "work run", synopsis: "[options]", summary: "compute what is to be done, until it is ended",
	about: `Takes stages from the queue of the book and computes their results, until it is ended with Ctrl-C or asked to
terminate: what it has begun is then finished or given back within five seconds. A stage that cannot be
computed is recorded as failed; trouble with server or store is waited out.`,
	examples: `conewright work run --book postgres://worker@db.example/conewright`,
	setup: func(g *optionGroups) action {
		var o bookOption
		var r workRun
		fs := g.group("Work")
		fs.IntVar(&r.jobs, "jobs", runtime.NumCPU(), "work on `N` stages at a time")
		fs.DurationVar(&r.limit, "limit", 2*time.Minute, "give a stage up, and take up what another worker has left behind, after this `TIME`")
		fs.BoolVar(&r.untilDone, "until-done", false, "end when nothing is left to do")
		o.define(g.group("Book"))
		return func(c *console, args []string) (answer, error) {
			switch {
			case len(args) > 0:
				return done, wrongUse("conewright work run --help lists the options", "it is not clear what %s is", args[0])
			case r.jobs < 1:
				return done, wrongUse("1 works on one stage after the other", "--jobs %d is too few", r.jobs)
			case r.limit < time.Second:
				return done, wrongUse("a recording of a minute takes some seconds", "--limit %s is too short", r.limit)
			}
			// As for a batch.
			defer debug.SetGCPercent(debug.SetGCPercent(400))
			defer debug.SetMemoryLimit(debug.SetMemoryLimit(batchMemory))
			return done, o.withQueue(func(ctx context.Context, b *book.Book, q *work.Queue) error { return r.run(ctx, c, b, q) })
		}
	},
}

// workRun is one worker.
type workRun struct {
	jobs      int
	limit     time.Duration
	untilDone bool
}

func (r *workRun) run(ctx context.Context, c *console, b *book.Book, q *work.Queue) error {
	ctx, stop := signal.NotifyContext(ctx, os.Interrupt, syscall.SIGTERM)
	defer stop()
	if r.untilDone {
		go func() {
			defer stop()
			awaitDone(ctx, q)
		}()
	}
	var computed, failed atomic.Int64
	fmt.Fprintf(c.err, "working on %s at a time for %s; Ctrl-C ends it\n", stagesWords(r.jobs), b.Name())
	err := q.Run(ctx, work.Options{AtOnce: r.jobs, Limit: r.limit,
		Compute: func(ctx context.Context, t work.Task, turn func(func()) error, also book.Also) error {
			return computeTask(ctx, b, t, turn, also)
		},
		Said: func(t work.Task, err error) {
			if err == nil {
				computed.Add(1)
				return
			}
			failed.Add(1)
			why, _ := wording.Error(err)
			fmt.Fprintf(c.err, "%s failed: %s\n", t.Ref(), why)
		}})
	fmt.Fprintf(c.out, "%s computed, %d failed\n", stagesWords(int(computed.Load())), failed.Load())
	return err
}

// awaitDone returns when nothing is left to do, or ctx ends.
func awaitDone(ctx context.Context, q *work.Queue) {
	for {
		if s, err := q.State(ctx); err == nil && s.Waiting+s.Running == 0 {
			return
		}
		select {
		case <-ctx.Done():
			return
		case <-time.After(200 * time.Millisecond):
		}
	}
}

// computeTask does what job recompute does with one stage: it fetches the files, computes in its turn, and keeps the result.
func computeTask(ctx context.Context, b *book.Book, t work.Task, turn func(func()) error, also book.Also) error {
	d, err := b.Driver(ctx, t.Ref())
	if err != nil {
		return err
	}
	s, ok := d.Stage(t.Stage)
	if !ok {
		return missingRef(t.Ref())
	}
	for _, w := range s.Sweeps {
		err = errors.Join(err, b.Fetch(ctx, w.SHA256))
	}
	var anew book.Addition
	if err == nil {
		var wrong error
		err = turn(func() {
			anew, wrong = computeAnew(ctx, b, t.Ref(), d, s, noBench())
		})
		err = errors.Join(err, wrong)
	}
	for _, w := range s.Sweeps {
		err = errors.Join(err, b.Forget(w.SHA256))
	}
	if err != nil {
		return err
	}
	anew.Also = also
	return b.Renew(ctx, anew)
}

var workListCommand = command{
	name: "work list", synopsis: "[options]", summary: "what is left to do, and what failed",
	about:    `Counts what waits, is worked on, was done within the last day and failed, and lists the newest failures.`,
	examples: `conewright work list --book postgres://eye@db.example/conewright`,
	setup: func(g *optionGroups) action {
		var o bookOption
		most := 0
		fs := g.group("Work")
		fs.IntVar(&most, "most", 20, "list at most `N` failures")
		o.define(g.group("Book"))
		return func(c *console, args []string) (answer, error) {
			return done, o.withQueue(func(ctx context.Context, b *book.Book, q *work.Queue) error {
				s, err := q.State(ctx)
				if err != nil {
					return err
				}
				failures, err := q.Failures(ctx, most)
				if err != nil {
					return err
				}
				if _, err := fmt.Fprintf(c.out, "%d waiting, %d worked on, %d done, %d failed\n", s.Waiting, s.Running, s.Done, s.Failed); err != nil || len(failures) == 0 {
					return err
				}
				t := report.Table{Columns: []report.Column{{Head: "stage"}, {Head: "when"}, {Head: "why"}}}
				for _, f := range failures {
					t.Rows = append(t.Rows, report.Row{Cells: []string{f.Task.Ref().String(), f.When.UTC().Format(time.DateTime), f.Cause}})
				}
				return list(c, "Failed", t)
			})
		}
	},
}
