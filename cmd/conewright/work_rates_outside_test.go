//go:build outside && work && unix

package main

import (
	"bytes"
	"flag"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"
)

// How much is computed; docs/performance.md has the figures of large runs.
var (
	workTables     = flag.Int("work-tables", 20, "how many tables workers compute")
	workRecordings = flag.Int("work-recordings", 2, "how many recordings workers compute")
	workSeconds    = flag.Int("work-seconds", 5, "how long a recording is")
	workWorkers    = flag.Int("work-workers", 2, "how many workers at most, each with one core")
)

// Everything is computed by one worker, by two and by more, and it is told how fast: by the clock, and by processor time
// of workers and of the server, beside a plain batch.
func TestOutsideWorkRates(t *testing.T) {
	s := newSharedBook(t, t.TempDir())
	job := 1
	for _, lot := range []struct {
		what, manifest string
		units          int
		bench          []string
	}{
		{"tables", tables(t, *workTables), *workTables, nil},
		{"recordings", recordings(t, *workRecordings), *workRecordings, []string{"--resistor", "10.02"}},
	} {
		each := func(d time.Duration) string {
			return fmt.Sprintf("%.2f ms", d.Seconds()*1000/float64(lot.units))
		}
		begin := time.Now()
		var out bytes.Buffer
		batch := s.start(&out, append([]string{"batch", lot.manifest, "--jobs", "1"}, lot.bench...)...)
		if err := batch.Wait(); err != nil {
			t.Fatalf("%v\n%s", err, out.String())
		}
		took := time.Since(begin)
		t.Logf("%d %s, batch: %.1f a second; processor time each: %s", lot.units, lot.what, float64(lot.units)/took.Seconds(), each(batch.ProcessState.UserTime()+batch.ProcessState.SystemTime()))
		for n := 1; n <= *workWorkers; n *= 2 {
			job++
			s.says("begun", "job", "new", "Rates")
			s.says(fmt.Sprintf("%[1]d of %[1]d units added", lot.units), append([]string{"work", "add", fmt.Sprintf("job:%d", job), lot.manifest}, lot.bench...)...)
			server := s.server.ProcessorTime(t)
			begin := time.Now()
			var workers []*exec.Cmd
			said := make([]bytes.Buffer, n)
			for i := range n {
				workers = append(workers, s.start(&said[i], "work", "run", "--until-done", "--jobs", "1"))
			}
			var used time.Duration
			for i, w := range workers {
				if err := w.Wait(); err != nil || !strings.Contains(said[i].String(), " 0 failed") {
					t.Errorf("%v\n%s", err, said[i].String())
				}
				used += w.ProcessState.UserTime() + w.ProcessState.SystemTime()
			}
			took := time.Since(begin)
			t.Logf("%d %s, %d workers: %.1f a second; processor time each: %s, and %s of the server", lot.units, lot.what, n, float64(lot.units)/took.Seconds(),
				each(used), each(s.server.ProcessorTime(t)-server))
			if got := len(results(t, s.address, job)); got != lot.units {
				t.Errorf("%d results of %d %s", got, lot.units, lot.what)
			}
		}
	}
}

// recordings writes recordings of n drivers into a folder, with a manifest.
func recordings(t *testing.T, n int) (manifest string) {
	t.Helper()
	folder := t.TempDir()
	lines := "unit,file\n"
	for i := range n {
		r, err := parseRecipe([]string{fmt.Sprintf("seed=%d", i+1), fmt.Sprintf("duration=%ds", *workSeconds), fmt.Sprintf("Mms=%gg", 42+0.1*float64(i%9))})
		if err != nil {
			t.Fatal(err)
		}
		data, err := r.wav()
		if err != nil {
			t.Fatal(err)
		}
		name := fmt.Sprintf("u%d.wav", i)
		if err := os.WriteFile(filepath.Join(folder, name), data, 0o600); err != nil {
			t.Fatal(err)
		}
		lines += fmt.Sprintf("u%d,%s\n", i, name)
	}
	manifest = filepath.Join(folder, "lot.csv")
	if err := os.WriteFile(manifest, []byte(lines), 0o600); err != nil {
		t.Fatal(err)
	}
	return manifest
}
