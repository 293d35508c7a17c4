package work

import (
	"context"
	"errors"
	"fmt"
	"time"

	"conewright/cmd/internal/book"

	"github.com/jackc/pgx/v5"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivertype"
)

// Options say how a worker works.
type Options struct {
	AtOnce int // stages that are computed at a time
	// Limit is the time for one, of which half may go by until its turn comes: then it is given back. A task of a worker that was
	// killed is taken up again after that time.
	Limit time.Duration
	// Compute computes the result of a stage and keeps it, together with what else belongs to the change. What takes a
	// core is done in its turn; another stage waits for server and store meanwhile. An error that will not pass by itself
	// cancels the task.
	Compute func(ctx context.Context, t Task, turn func(func()) error, also book.Also) error
	Said    func(t Task, err error) // told of every stage that was computed (nil) or cancelled
}

const (
	// ahead is how many tasks a worker holds for each that it computes, so that the network is not waited for. River
	// fetches so many at a time at most, with a pause between: it bounds the rate, to 400 a second and core. With a shorter one
	// each fetch, which costs the server as much as a result does, brings a single task.
	ahead = 8
	pause = 20 * time.Millisecond
	// softStop is how long a task that was begun may still take when the worker is asked to end.
	softStop = 3500 * time.Millisecond
	// hardStop is how long everything may take to end after that.
	hardStop = time.Second
	// look is how often an idle worker asks for tasks whose announcement it has missed.
	look = 200 * time.Millisecond
)

// Run works until ctx ends. What was begun is then finished or given back.
func (q *Queue) Run(ctx context.Context, o Options) error {
	workers := river.NewWorkers()
	river.AddWorker(workers, &worker{Options: o, turns: make(chan bool, o.AtOnce), asked: ctx.Done()})
	client, err := river.NewClient(q.driver, &river.Config{
		Logger: quiet, Workers: workers,
		Queues:                      map[string]river.QueueConfig{river.QueueDefault: {MaxWorkers: ahead * o.AtOnce}},
		FetchCooldown:               pause,
		FetchPollInterval:           look,
		JobTimeout:                  o.Limit,
		RescueStuckJobsAfter:        o.Limit + time.Second,
		CancelledJobRetentionPeriod: kept,
		DiscardedJobRetentionPeriod: kept,
		RetryPolicy:                 retry{},
	})
	if err != nil {
		return err
	}
	if err := client.Start(context.WithoutCancel(ctx)); err != nil {
		return q.wrong(err)
	}
	<-ctx.Done()
	soft, cancel := context.WithTimeout(context.WithoutCancel(ctx), softStop)
	defer cancel()
	if client.Stop(soft) == nil {
		return nil
	}
	hard, cancel := context.WithTimeout(context.WithoutCancel(ctx), hardStop)
	defer cancel()
	return client.StopAndCancel(hard)
}

// retry is when a task that failed is tried again: after 1, 2, 4... seconds, a minute at most.
type retry struct{}

// NextRetry implements river.ClientRetryPolicy.
func (retry) NextRetry(row *rivertype.JobRow) time.Time {
	return time.Now().Add(min(time.Second<<min(len(row.Errors), 6), time.Minute))
}

// worker computes tasks.
type worker struct {
	river.WorkerDefaults[Task]
	Options
	turns chan bool       // one for each that is computed
	asked <-chan struct{} // closed when the worker is asked to end
}

// errNotBegun ends a task whose turn does not come in time, or not before the worker is asked to end.
var errNotBegun = errors.New("not begun")

// Work computes one task.
func (w *worker) Work(ctx context.Context, job *river.Job[Task]) error {
	giveBack := river.JobSnooze(0) // as if it had not been begun
	if w.ending() {
		return giveBack
	}
	late := time.After(w.Limit / 2)
	turn := func(compute func()) error {
		select {
		case <-w.asked:
			return errNotBegun
		case <-late:
			return errNotBegun
		case <-ctx.Done():
			return ctx.Err()
		case w.turns <- true:
		}
		defer func() { <-w.turns }()
		if w.ending() {
			return errNotBegun
		}
		compute()
		return nil
	}
	// What is computed does not stop by itself: at the end of its time it is left alone.
	done := make(chan error, 1)
	go func() {
		defer func() {
			if p := recover(); p != nil {
				done <- fmt.Errorf("internal error: %v", p)
			}
		}()
		done <- w.Compute(ctx, job.Args, turn, func(conn *pgx.Conn) error {
			_, err := river.JobCompleteTx[*riverpgxv5.Driver, pgx.Tx](ctx, within{conn: conn}, job)
			return err
		})
	}()
	var err error
	select {
	case err = <-done:
	case <-ctx.Done():
		err = ctx.Err()
	}
	switch {
	case err == nil:
		w.Said(job.Args, nil)
		return nil
	case errors.Is(err, errNotBegun) || w.ending() && ctx.Err() != nil:
		return giveBack
	case passing(err):
		return err
	}
	w.Said(job.Args, err)
	return river.JobCancel(err)
}

// ending says whether the worker was asked to end.
func (w *worker) ending() bool {
	select {
	case <-w.asked:
		return true
	default:
		return false
	}
}
