//go:build outside && unix

package work

import (
	"context"
	"errors"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/pgtest"
	"conewright/ts/param"

	"github.com/jackc/pgx/v5"
)

// A result and the completion of its task are one transaction: where one of them is broken, neither remains, and after
// the transaction both do, whatever happens to the worker.
func TestOutsideResultAndCompletion(t *testing.T) {
	server := pgtest.Start(t, "fsync = off")
	t.Setenv(book.RawVariable, t.TempDir())
	broken := errors.New("broken")
	for _, c := range []struct {
		name  string
		known int // sweeps that the worker takes the stage to have
		then  func(address string, conn *pgx.Conn) error
		after error
		both  bool
	}{
		{name: "nothing is broken", known: 1, both: true},
		{name: "the stage has changed", known: 2},
		{name: "an error after the completion", known: 1, then: func(string, *pgx.Conn) error { return broken }},
		{name: "a panic after the completion", known: 1, then: func(string, *pgx.Conn) error { panic("broken") }},
		{name: "the connection ends before the commit", known: 1, then: func(address string, conn *pgx.Conn) error {
			server.SQL(t, address, "SELECT pg_terminate_backend("+strconv.Itoa(int(conn.PgConn().PID()))+", 5000)")
			return nil
		}},
		{name: "the worker fails after the commit", known: 1, after: broken, both: true},
	} {
		t.Run(c.name, func(t *testing.T) {
			ctx, end := context.WithTimeout(context.Background(), 30*time.Second)
			defer end()
			address := server.Database(t)
			b, task := stageToCompute(t, address)
			q, err := Open(ctx, address)
			if err != nil {
				t.Fatal(err)
			}
			defer q.Close()
			if n, err := q.Add(ctx, []Task{task}); n != 1 || err != nil {
				t.Fatalf("%d queued, %v", n, err)
			}
			running, stop := context.WithCancel(ctx)
			tried := make(chan bool, 100)
			ended := make(chan error)
			go func() {
				ended <- q.Run(running, Options{AtOnce: 1, Limit: 20 * time.Second, Said: func(Task, error) {},
					Compute: func(ctx context.Context, task Task, _ func(func()) error, also book.Also) error {
						defer func() { tried <- true }()
						err := b.Renew(ctx, book.Addition{Ref: task.Ref(), Known: c.known, Result: &book.Result{Made: time.Now(), Values: map[param.ID]book.Value{param.Fs: {Value: 31, Std: 0.1}}},
							Also: func(conn *pgx.Conn) error {
								err := also(conn)
								if err == nil && c.then != nil {
									err = c.then(address, conn)
								}
								return err
							}})
						if err == nil {
							err = c.after
						}
						return err
					}})
			}()
			<-tried
			stop()
			if err := <-ended; err != nil {
				t.Error(err)
			}
			d, err := b.Driver(context.Background(), task.Ref())
			if err != nil {
				t.Fatal(err)
			}
			result := d.Stages[0].Result != nil
			s, err := q.State(context.Background())
			if err != nil || result != c.both || (s.Done == 1) != c.both || s.Done+s.Waiting+s.Failed != 1 {
				t.Errorf("result %v, tasks %+v, %v; want both: %v", result, s, err, c.both)
			}
		})
	}
}

// stageToCompute is a new book with a stage that has a sweep and no result.
func stageToCompute(t *testing.T, address string) (*book.Book, Task) {
	t.Helper()
	ctx := context.Background()
	b, err := book.Open(ctx, address)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	n, err := b.NewJob(ctx, book.Job{Title: "Lot", Opened: time.Now()})
	if err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(t.TempDir(), "sweep.txt")
	if err := os.WriteFile(path, []byte("one"), 0o600); err != nil {
		t.Fatal(err)
	}
	const hash = "7692c3ad3540bb803c020b3aee66cd8887123234ea0c6e7143c0add73ff431ed" // SHA-256 of "one", by sha256sum
	w := book.NewSweep{File: book.File{Path: path, SHA256: hash}, Sweep: book.Sweep{SHA256: hash, Name: "sweep.txt", Added: time.Now()}}
	if err := b.Add(ctx, book.Addition{Ref: book.Ref{Job: n, Side: "left", Stage: book.AsReceived}, Sweeps: []book.NewSweep{w}}); err != nil {
		t.Fatal(err)
	}
	var task Task
	err = b.EachBasis(ctx, book.Ref{}, "", func(s book.Basis) error { task = TaskOf(s, "test"); return nil })
	if err != nil {
		t.Fatal(err)
	}
	return b, task
}

// Tasks that wait for their turn longer than one may take are given back as if they had not been begun: no attempt is used up.
func TestOutsideWaitingIsNoAttempt(t *testing.T) {
	server := pgtest.Start(t, "fsync = off")
	t.Setenv(book.RawVariable, t.TempDir())
	address := server.Database(t)
	stageToCompute(t, address)
	ctx, end := context.WithTimeout(context.Background(), time.Minute)
	defer end()
	q, err := Open(ctx, address)
	if err != nil {
		t.Fatal(err)
	}
	defer q.Close()
	var tasks []Task
	for i := range ahead {
		tasks = append(tasks, Task{Job: i + 1, Stage: book.AsReceived})
	}
	if n, err := q.Add(ctx, tasks); n != ahead || err != nil {
		t.Fatalf("%d queued, %v", n, err)
	}
	running, stop := context.WithCancel(ctx)
	done := make(chan bool, ahead)
	ended := make(chan error)
	go func() {
		ended <- q.Run(running, Options{AtOnce: 1, Limit: time.Second, Said: func(Task, error) { done <- true },
			Compute: func(_ context.Context, _ Task, turn func(func()) error, _ book.Also) error {
				return turn(func() { time.Sleep(300 * time.Millisecond) })
			}})
	}()
	for range ahead {
		select {
		case <-done:
		case <-ctx.Done():
			t.Fatal("not all tasks were done in a minute")
		}
	}
	stop()
	if err := <-ended; err != nil {
		t.Error(err)
	}
	if got := server.SQL(t, address, "SELECT count(*) FROM conewright.river_job WHERE cardinality(errors) > 0"); strings.TrimSpace(got) != "0" {
		t.Errorf("%s tasks count an attempt as failed", strings.TrimSpace(got))
	}
}
