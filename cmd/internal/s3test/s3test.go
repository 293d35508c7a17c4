// Package s3test is a store with the API of S3 in the process of a test.
package s3test

import (
	"net/http"
	"net/http/httptest"
	"strings"
	"sync"
	"testing"

	"github.com/johannesboyne/gofakes3"
	"github.com/johannesboyne/gofakes3/backend/s3mem"
)

// Store is such a store. The keys to it are in the environment, of this process and of those that it starts, and what
// is fetched from it goes to a folder that the test leaves no trace of.
type Store struct {
	Place string // for CONEWRIGHT_RAW

	mutex    sync.Mutex
	replaces []string
}

// Start starts an empty one with the bucket "raw".
func Start(t testing.TB) *Store {
	t.Helper()
	s := &Store{}
	backend := s3mem.New()
	if err := backend.CreateBucket("raw"); err != nil {
		t.Fatal(err)
	}
	api := gofakes3.New(backend).Server()
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodPut && r.Header.Get("If-None-Match") != "*" {
			s.mutex.Lock()
			s.replaces = append(s.replaces, r.URL.Path)
			s.mutex.Unlock()
		}
		api.ServeHTTP(w, r)
	}))
	t.Cleanup(server.Close)
	t.Setenv("AWS_ACCESS_KEY_ID", "key")
	t.Setenv("AWS_SECRET_ACCESS_KEY", "secret")
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	s.Place = "s3://" + strings.TrimPrefix(server.URL, "http://") + "/raw/book?tls=off"
	return s
}

// Replaces lists what was written so that it would have replaced what is there.
func (s *Store) Replaces() []string {
	s.mutex.Lock()
	defer s.mutex.Unlock()
	return s.replaces
}
