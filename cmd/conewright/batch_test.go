package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"testing"
)

// makeLot writes n tables into a new folder and goes there.
func makeLot(t testing.TB, n int) {
	dir := t.TempDir()
	for i := range n {
		r, err := parseRecipe([]string{fmt.Sprintf("seed=%d", i+1)})
		if err != nil {
			t.Fatal(err)
		}
		table, err := r.table()
		if err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(filepath.Join(dir, fmt.Sprintf("u%03d.csv", i)), table, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	t.Chdir(dir)
}

// newBatch is a run as the command line would prepare it.
func newBatch(t testing.TB, args ...string) *batchJob {
	g := newOptionGroups("batch")
	b := new(batchJob)
	b.define(g)
	all := g.all()
	if err := all.Parse(args); err != nil {
		t.Fatal(err)
	}
	if err := b.prepare(all.Args()); err != nil {
		t.Fatal(err)
	}
	return b
}

// The result of a unit from the book rests on the bench of its stage, and the report names that bench.
func TestBenchOfUnitsFromTheBook(t *testing.T) {
	makeLot(t, 2)
	folder := t.TempDir()
	conewright(t, 0, "job", "new", "Lot", "--book", folder)
	conewright(t, 0, "job", "add", "job:1/u0/as-received", "u000.csv", "--leads", "0.1ohm", "--book", folder)
	basis := func() string { return newBatch(t, "job:1/u0", "--book", folder).units[0].basis(nil) }
	before := basis()
	if got := newBatch(t, "job:1", "--book", folder).benchOfAll().Get("leads"); got != "0.1ohm" {
		t.Errorf("leads %q", got)
	}
	conewright(t, 0, "job", "recompute", "job:1", "--leads", "0.2ohm", "--book", folder)
	if after := basis(); after == before {
		t.Error("the basis is the same with other leads")
	}
	conewright(t, 0, "job", "add", "job:1/u1/as-received", "u001.csv", "--leads", "0.1ohm", "--book", folder)
	if got := newBatch(t, "job:1", "--book", folder).benchOfAll(); got != nil {
		t.Errorf("units of two benches have %v in common", got)
	}
}

// A run that is interrupted at any point and continued gives what one run gives.
func TestBatchCanBeInterruptedAnywhere(t *testing.T) {
	const units = 6
	makeLot(t, units)
	var quiet bytes.Buffer
	c := &console{err: &quiet, out: &quiet}
	out := t.TempDir()
	whole := filepath.Join(out, "whole.csv")
	if _, err := newBatch(t, ".", "--csv", "-o", whole).toFile(context.Background(), c); err != nil {
		t.Fatal(err)
	}
	want, err := os.ReadFile(whole)
	if err != nil {
		t.Fatal(err)
	}
	for after := range units {
		path := filepath.Join(out, fmt.Sprintf("%d.csv", after))
		ctx, cancel := context.WithCancel(context.Background())
		first := newBatch(t, ".", "--csv", "-o", path, "--jobs", "2")
		first.testOnlyStep = func(n int) { // as if the key were pressed now
			if n > after {
				cancel()
			}
		}
		_, err := first.toFile(ctx, c)
		var stopped *interruptedError
		if !errors.As(err, &stopped) {
			t.Fatalf("after %d units: %v", after, err)
		}
		if _, err := os.Stat(path); !errors.Is(err, os.ErrNotExist) {
			t.Errorf("after %d units a result was written: %v", after, err)
		}
		if _, err := newBatch(t, ".", "--csv", "-o", path, "--resume").toFile(context.Background(), c); err != nil {
			t.Fatal(err)
		}
		if got, err := os.ReadFile(path); err != nil || !bytes.Equal(got, want) {
			t.Errorf("interrupted after %d units: %v\n%s\nwant\n%s", after, err, got, want)
		}
		cancel()
	}
}

func BenchmarkBatch(b *testing.B) {
	makeLot(b, 64)
	var quiet bytes.Buffer
	c := &console{err: &quiet, out: &quiet}
	for b.Loop() {
		if _, err := newBatch(b, ".", "--json").stream(context.Background(), c); err != nil {
			b.Fatal(err)
		}
	}
	b.ReportMetric(float64(64*b.N)/b.Elapsed().Seconds(), "units/s")
}
