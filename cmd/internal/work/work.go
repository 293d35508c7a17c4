// Package work hands the stages of a book on a server to workers on any machine, which compute their
// results from the raw files. The queue is River's, in the same database: a result and the completion of its task
// are one transaction, so that every stage is computed once whoever is killed at whatever moment.
package work

import (
	"context"
	"errors"
	"io"
	"log/slog"
	"time"

	"conewright/cmd/internal/book"
	"conewright/ts/notice"

	"github.com/jackc/pgx/v5"
	"github.com/jackc/pgx/v5/pgxpool"
	"github.com/riverqueue/river"
	"github.com/riverqueue/river/riverdriver/riverpgxv5"
	"github.com/riverqueue/river/rivermigrate"
	"github.com/riverqueue/river/rivertype"
)

// Task is to compute the result of one stage. The same task is not queued twice: it is the same while what the
// result rests on is, and the version of the program.
type Task struct {
	Job      int    `json:"job"`
	Side     string `json:"side"`
	Stage    string `json:"stage"`
	Content  string `json:"content"`  // hash of the sweeps and their loads
	Settings string `json:"settings"` // hash of bench, calibration and sheet
	Version  string `json:"version"`  // of the program that asked for it
}

// TaskOf is the task of a stage.
func TaskOf(b book.Basis, version string) Task {
	return Task{b.Ref.Job, b.Ref.Side, b.Ref.Stage, b.Content, b.Settings, version}
}

// Kind is how the queue names such tasks.
func (Task) Kind() string { return "compute" }

// Ref is the stage.
func (t Task) Ref() book.Ref { return book.Ref{Job: t.Job, Side: t.Side, Stage: t.Stage} }

// InsertOpts are those of every task: tried so often, and once.
func (Task) InsertOpts() river.InsertOpts {
	return river.InsertOpts{MaxAttempts: attempts, UniqueOpts: river.UniqueOpts{ByArgs: true}}
}

// attempts is how often a task is begun before it is given up: a worker may be killed several times
// over the same one.
const attempts = 8

// kept is how long the queue tells of tasks that failed.
const kept = 90 * 24 * time.Hour

// Queue is the queue of a book.
type Queue struct {
	address string
	pool    *pgxpool.Pool
	driver  *riverpgxv5.Driver
	client  *river.Client[pgx.Tx] // to insert
}

// Open opens the queue of the book at an address, and begins it if it is not there yet.
func Open(ctx context.Context, address string) (*Queue, error) {
	config, err := book.ServerConfig(address)
	if err != nil {
		return nil, err
	}
	of, err := pgxpool.ParseConfig(address)
	if err != nil {
		return nil, err
	}
	of.ConnConfig = config
	pool, err := pgxpool.NewWithConfig(ctx, of)
	if err != nil {
		return nil, err
	}
	q := &Queue{address: address, pool: pool, driver: riverpgxv5.New(pool)}
	if err := q.begin(ctx); err != nil {
		pool.Close()
		return nil, q.wrong(err)
	}
	return q, nil
}

// begin makes the tables of the queue, or brings them to the form of this version.
func (q *Queue) begin(ctx context.Context) error {
	migrator, err := rivermigrate.New(q.driver, &rivermigrate.Config{Logger: quiet})
	if err != nil {
		return err
	}
	state, err := migrator.Validate(ctx, nil)
	if err == nil && !state.OK {
		_, err = migrator.Migrate(ctx, rivermigrate.DirectionUp, nil)
	}
	if err != nil {
		return err
	}
	q.client, err = river.NewClient(q.driver, &river.Config{Logger: quiet})
	return err
}

// wrong says what an error of the server means, and what to do.
func (q *Queue) wrong(err error) error { return book.ServerError(q.address, err) }

// quiet is for what River says: what matters is said where it is found.
var quiet = slog.New(slog.NewTextHandler(io.Discard, nil))

// Close closes the queue.
func (q *Queue) Close() { q.pool.Close() }

// Add queues tasks and returns how many of them are new.
func (q *Queue) Add(ctx context.Context, tasks []Task) (added int, err error) {
	if len(tasks) == 0 {
		return 0, nil
	}
	params := make([]river.InsertManyParams, len(tasks))
	for i, t := range tasks {
		params[i].Args = t
	}
	results, err := q.client.InsertMany(ctx, params)
	for _, r := range results {
		if !r.UniqueSkippedAsDuplicate {
			added++
		}
	}
	return added, q.wrong(err)
}

// State is how many tasks are in what state.
type State struct{ Waiting, Running, Done, Failed int }

// State counts.
func (q *Queue) State(ctx context.Context) (s State, err error) {
	err = q.pool.QueryRow(ctx, `SELECT count(*) FILTER (WHERE state IN ('available', 'scheduled', 'retryable', 'pending')), count(*) FILTER (WHERE state = 'running'),
		count(*) FILTER (WHERE state = 'completed'), count(*) FILTER (WHERE state IN ('cancelled', 'discarded')) FROM river_job`).
		Scan(&s.Waiting, &s.Running, &s.Done, &s.Failed)
	return s, q.wrong(err)
}

// Failure is a task that was given up, and why.
type Failure struct {
	Task  Task
	When  time.Time
	Cause string
}

// Failures lists the newest tasks that were given up.
func (q *Queue) Failures(ctx context.Context, most int) ([]Failure, error) {
	rows, err := q.pool.Query(ctx, `SELECT args, finalized_at, coalesce(errors[array_upper(errors, 1)] ->> 'error', '') FROM river_job
		WHERE state IN ('cancelled', 'discarded') ORDER BY finalized_at DESC, id DESC LIMIT $1`, most)
	if err != nil {
		return nil, q.wrong(err)
	}
	list, err := pgx.CollectRows(rows, func(row pgx.CollectableRow) (f Failure, err error) {
		err = row.Scan(&f.Task, &f.When, &f.Cause)
		return f, err
	})
	return list, q.wrong(err)
}

// passing says whether an error may be another one the next time: the queue tries again.
func passing(err error) bool {
	var n *notice.Notice
	if !errors.As(err, &n) {
		// Not found: somebody else has taken the task up meanwhile.
		return errors.Is(err, context.Canceled) || errors.Is(err, context.DeadlineExceeded) || errors.Is(err, rivertype.ErrNotFound)
	}
	switch n.Code {
	case "book-unreachable", "book-not-let-in", "book-no-right", "book-busy", "book-unusable", "book-changed", "raw-unreachable", "save-failed", "save-interrupted":
		return true
	}
	return false
}
