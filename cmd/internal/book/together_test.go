package book

import (
	"context"
	"fmt"
	"sync"
	"testing"

	"conewright/cmd/internal/rawstore"
	"conewright/ts/measured"
	"conewright/ts/param"
)

// Several programs that begin one book at the same moment, and then write.
func testSeveralAtOnce(t *testing.T, place func(*testing.T) string) {
	folder := place(t)
	var wait sync.WaitGroup
	for i := range 6 {
		wait.Go(func() {
			b, err := Open(context.Background(), folder)
			if err != nil {
				t.Errorf("%d: %v", i, err)
				return
			}
			defer b.Close()
			for range 10 {
				if _, err := b.NewJob(context.Background(), Job{Title: fmt.Sprint(i), Opened: day}); err != nil {
					t.Errorf("%d: %v", i, err)
				}
			}
		})
	}
	wait.Wait()
	list, err := open(t, folder).Jobs(context.Background(), "", 1000)
	if err != nil || len(list) != 60 {
		t.Errorf("%d jobs, %v", len(list), err)
	}
}

// Benches begin one driver and add to it at the same moment, each with a result of the sweeps that it knows: one of them
// does, and the others are told that the stage has changed.
func testOneDriverFromSeveral(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	at := place(t)
	const benches, rounds = 6, 8
	var books []*Book
	for range benches {
		books = append(books, open(t, at))
	}
	n, err := books[0].NewJob(ctx, Job{Opened: day})
	if err != nil {
		t.Fatal(err)
	}
	for round := range rounds {
		var wait sync.WaitGroup
		var begin sync.WaitGroup
		begin.Add(1)
		results := make([]error, benches)
		for i, b := range books {
			sweep := sweepOf(t, fmt.Sprintf("round %d, bench %d", round, i), measured.Load{})
			if err := rawstore.PutFile(ctx, b.raw, sweep.File.SHA256, sweep.File.Path); err != nil { // so that nobody waits for a disk
				t.Fatal(err)
			}
			wait.Go(func() {
				begin.Wait()
				results[i] = b.Add(ctx, Addition{Ref: Ref{n, "left", RunIn}, Sweeps: []NewSweep{sweep}, Known: round, Result: resultOf(float64(round + 1))})
			})
		}
		begin.Done()
		wait.Wait()
		added := 0
		for _, err := range results {
			if err == nil {
				added++
				continue
			}
			refused(t, err, "book-changed")
		}
		if added != 1 {
			t.Errorf("round %d: %d benches added to the stage as it was", round, added)
		}
	}
	j, err := books[0].Job(ctx, n)
	if err != nil || len(j.Drivers) != 1 || len(j.Drivers[0].Stages) != 1 {
		t.Fatalf("%+v, %v", j, err)
	}
	if s := j.Drivers[0].Stages[0]; len(s.Sweeps) != rounds || s.Result.Values[param.Fs].Value != rounds {
		t.Errorf("%d sweeps, the result is of %v", len(s.Sweeps), s.Result.Values[param.Fs].Value)
	}
}

// Benches add the same recording to jobs of their own while others delete theirs: the raw file is there for as long as
// a job refers to it.
func testDeletionsAtOnce(t *testing.T, place func(*testing.T) string) {
	ctx := context.Background()
	at := place(t)
	open(t, at)
	var wait sync.WaitGroup
	for range 4 {
		b, sweep := open(t, at), sweepOf(t, "the same", measured.Load{})
		wait.Go(func() {
			for range 15 {
				n, err := b.NewJob(ctx, Job{Opened: day})
				if err == nil {
					err = b.Add(ctx, Addition{Ref: Ref{n, "left", AsReceived}, Sweeps: []NewSweep{sweep}, Result: resultOf(31)})
				}
				if err != nil {
					t.Error(err)
					return
				}
				if have, err := b.raw.Has(ctx, sweep.File.SHA256); !have || err != nil {
					t.Errorf("the raw file of job:%d is gone, %v", n, err)
				}
				if err := b.Delete(ctx, n); err != nil {
					t.Error(err)
					return
				}
			}
		})
	}
	wait.Wait()
}
