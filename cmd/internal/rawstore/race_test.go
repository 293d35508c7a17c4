package rawstore

import (
	"context"
	"path/filepath"
	"strings"
	"sync"
	"testing"

	"conewright/cmd/internal/s3test"
)

// Programs of one machine share what was fetched: one puts a content while another removes or forgets it.
func TestBucketsOfOneMachine(t *testing.T) {
	ctx := context.Background()
	s := s3test.Start(t)
	cache := filepath.Join(t.TempDir(), "cache")
	hash := hashOf("one")
	var wait sync.WaitGroup
	for range 4 {
		store, err := Open(s.Place, cache)
		if err != nil {
			t.Fatal(err)
		}
		wait.Go(func() {
			for range 50 {
				if err := store.Put(ctx, hash, strings.NewReader("one")); err != nil {
					t.Error(err)
				}
				if err := store.Remove(ctx, hash); err != nil {
					t.Error(err)
				}
			}
		})
	}
	wait.Wait()
}
