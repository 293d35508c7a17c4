package main

import (
	"context"
	"sync"
)

// ordered does work(0) to work(n-1) on several goroutines and hands the results
// to emit one by one in order. Results wait for their turn only within a small
// window, so that memory does not grow with n. It stops at the first error of
// emit and when ctx ends; work that has begun is waited for.
func ordered[T any](ctx context.Context, n, workers int, work func(i int) T, emit func(i int, v T) error) error {
	type job struct {
		i    int
		done chan T
	}
	ctx, cancel := context.WithCancel(ctx)
	jobs := make(chan job)
	turns := make(chan job, 4*workers) // in order; its capacity is the window
	var busy sync.WaitGroup
	defer busy.Wait()
	defer cancel()

	for range workers {
		busy.Go(func() {
			for j := range jobs {
				j.done <- work(j.i)
			}
		})
	}
	busy.Go(func() {
		defer close(jobs)
		defer close(turns)
		for i := range n {
			j := job{i, make(chan T, 1)}
			select {
			case turns <- j:
			case <-ctx.Done():
				return
			}
			select {
			case jobs <- j:
			case <-ctx.Done():
				close(j.done)
				return
			}
		}
	})
	for j := range turns {
		v, ok := <-j.done
		if !ok {
			break
		}
		if err := emit(j.i, v); err != nil {
			return err
		}
	}
	return ctx.Err()
}
