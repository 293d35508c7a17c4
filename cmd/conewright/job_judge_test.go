package main

import (
	"context"
	"strings"
	"testing"
	"time"

	"conewright/cmd/internal/book"
)

// A sheet by which a kept result cannot be judged is not taken: the driver would have verdicts of another one.
func TestUnreadableResultKeepsItsSheet(t *testing.T) {
	ctx, folder := context.Background(), t.TempDir()
	b, err := book.Open(ctx, folder)
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	n, err := b.NewJob(ctx, book.Job{Title: "hall", Opened: time.Now()})
	if err == nil {
		err = b.Add(ctx, book.Addition{Ref: book.Ref{Job: n, Side: "left", Stage: book.RunIn}, Result: &book.Result{Verdict: "in-spec", Fit: []byte(`{"schema": "conewright/fit/9"}`)}})
	}
	if err != nil {
		t.Fatal(err)
	}
	sheet, err := newFile(folder, "sheet", ".toml", "[limits]\nFs = { nominal = \"31 Hz\", tolerance = \"10 %\" }\n")
	if err != nil {
		t.Fatal(err)
	}
	if _, said := conewright(t, 2, "job", "set", "job:1/left", "--type", "Larch 25", "--spec", sheet, "--book", folder); !strings.Contains(said, "job:1/left/run-in") || !strings.Contains(said, "conewright job recompute job:1/left/run-in") {
		t.Errorf("it says %s", said)
	}
	job, err := b.Job(ctx, n)
	if err != nil {
		t.Fatal(err)
	}
	if d := job.Drivers[0]; d.Sheet != "" || d.Type != "" || d.Stages[0].Result.Verdict != "in-spec" {
		t.Errorf("the driver is now %+v", d)
	}
}
