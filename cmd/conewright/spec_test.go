package main

import (
	"context"
	"fmt"
	"math"
	"testing"
	"time"

	"conewright/cmd/internal/book"
	"conewright/cmd/internal/specsheet"
	"conewright/ts/param"
)

// Limits from five units are mean +- 5.077 standard deviations of the logarithm.
//
// Source: factor for n = 5, 95 % of all with a confidence of 95 %, of printed tables
// of two-sided tolerance factors (ISO 16269-6, from memory).
func TestHealthySheet(t *testing.T) {
	ctx := context.Background()
	b, err := book.Open(ctx, t.TempDir())
	if err != nil {
		t.Fatal(err)
	}
	defer b.Close()
	n, err := b.NewJob(ctx, book.Job{Title: "lot", Opened: time.Now()})
	if err != nil {
		t.Fatal(err)
	}
	serials, verdicts := map[string]string{}, map[string]string{}
	add := func(side, stage string, fs float64) {
		ref := book.Ref{Job: n, Side: side, Stage: stage}
		if err := b.Add(ctx, book.Addition{Ref: ref, Result: &book.Result{Verdict: verdicts[side], Values: map[param.ID]book.Value{param.Fs: {Value: fs, Std: 0.1}}}}); err != nil {
			t.Fatal(err)
		}
		if _, err := b.Describe(ctx, ref, book.About{Type: "Larch 25", Serial: serials[side]}, nil); err != nil {
			t.Fatal(err)
		}
	}
	serials["back"], serials["u0"] = "0417", "0417"
	verdicts["u1"], verdicts["sick"] = "in-spec", "out-of-spec"
	add("back", book.RunIn, 88) // came back as u0
	add("sick", book.RunIn, 77)
	logs := []float64{3.40, 3.42, 3.43, 3.45, 3.50} // mean 3.44, variance 0.00145
	for i, l := range logs {
		add(fmt.Sprint("u", i), book.AsReceived, 99) // not the last stage
		add(fmt.Sprint("u", i), book.RunIn, math.Exp(l))
	}
	s, err := healthySheet(ctx, b, book.Which{Type: "Larch 25", Last: true}, 0.95, 0.95)
	if err != nil || len(s.limits) != 1 {
		t.Fatalf("%v, %v", s, err)
	}
	sheet, err := specsheet.Parse([]byte("[limits]\n"+s.limits[0]), "test")
	if err != nil {
		t.Fatal(err)
	}
	k, std := 5.077, math.Sqrt(0.00145)
	for side, got := range map[float64]float64{-1: sheet.Limits[0].Lo, 1: sheet.Limits[0].Hi} {
		if want := math.Exp(3.44 + side*k*std); math.Abs(got/want-1) > 3e-4 { // four printed digits
			t.Errorf("limit %v, wanted %v", got, want)
		}
	}
}
