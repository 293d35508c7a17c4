package main

import (
	"context"
	"errors"
	"sync/atomic"
	"testing"
)

func TestOrderedKeepsTheOrder(t *testing.T) {
	for _, workers := range []int{1, 2, 7} {
		var most, running atomic.Int64
		next := 0
		err := ordered(context.Background(), 500, workers, func(i int) int {
			most.Store(max(most.Load(), running.Add(1)))
			defer running.Add(-1)
			return i * i
		}, func(i, v int) error {
			if i != next || v != i*i {
				t.Fatalf("%d workers: emitted %d with %d when %d was due", workers, i, v, next)
			}
			next++
			return nil
		})
		if err != nil || next != 500 || most.Load() > int64(workers) {
			t.Errorf("%d workers: %v after %d, %d at once", workers, err, next, most.Load())
		}
	}
}

// Results wait for a slow one only within a window: memory stays bounded.
func TestOrderedIsBounded(t *testing.T) {
	const workers = 4
	release := make(chan struct{})
	var begun atomic.Int64
	finished := make(chan error)
	go func() {
		finished <- ordered(context.Background(), 10000, workers, func(i int) int {
			if begun.Add(1); i == 0 {
				<-release
			}
			return i
		}, func(int, int) error { return nil })
	}()
	// The others go on until the window is full, then nothing moves.
	for begun.Load() < 4*workers {
	}
	if n := begun.Load(); n > 6*workers {
		t.Errorf("%d jobs were begun behind the first", n)
	}
	close(release)
	if err := <-finished; err != nil || begun.Load() != 10000 {
		t.Errorf("%v after %d", err, begun.Load())
	}
}

func TestOrderedStops(t *testing.T) {
	stop := errors.New("stop")
	emitted := 0
	err := ordered(context.Background(), 1000, 3, func(i int) int { return i }, func(i, _ int) error {
		emitted++
		if i == 10 {
			return stop
		}
		return nil
	})
	if err != stop || emitted != 11 {
		t.Errorf("%v after %d", err, emitted)
	}

	ctx, cancel := context.WithCancel(context.Background())
	emitted = 0
	err = ordered(ctx, 1000, 3, func(i int) int { return i }, func(i, _ int) error {
		if emitted++; i == 10 {
			cancel()
		}
		return nil
	})
	if !errors.Is(err, context.Canceled) || emitted >= 1000 {
		t.Errorf("%v after %d", err, emitted)
	}
}
