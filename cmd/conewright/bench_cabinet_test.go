package main

import (
	"bytes"
	"errors"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/benchpage"
)

// In the cabinet, before and after a new gasket: the page says what the commands say, and the book keeps both as stages that are held
// against the driver in free air.
func TestBenchInTheCabinet(t *testing.T) {
	f := newPageFolder(t)
	step := func(j benchjob.Job, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		f.job = j
	}
	f.sweep(benchjob.First)
	step(f.job.WithMass("20.0 g"))
	f.sweep(benchjob.First)
	step(f.job.WithBox(benchjob.Box{Volume: "60 L", Tuning: "34 Hz"}))
	f.sweep(benchjob.First)
	if r, _, err := f.w.Cabinet(f.path, f.job); err != nil || r.Headline != "" || !strings.Contains(strings.Join(r.Body, " "), "a leak of the box") {
		t.Fatalf("one sweep says %+v, %v", r, err)
	}
	step(f.job.WithBox(benchjob.Box{Volume: "60 L", Tuning: "34 Hz"}))
	f.sweep(benchjob.First)
	r, command, err := f.w.Cabinet(f.path, f.job)
	if err != nil || r.Headline != "DIFFERENT: a leak of the box (before)" {
		t.Fatalf("%+v, %v", r, err)
	}
	t.Chdir(f.path)
	var out, errs bytes.Buffer
	for _, one := range strings.Split(command, " && ") {
		if code := run(words(one)[1:], nil, &out, &errs); code != 0 {
			t.Errorf("%s: %d %s", one, code, errs.String())
		}
	}
	got := strings.Join(strings.Fields(out.String()), " ")
	for _, line := range append(r.Body, r.Headline) {
		if !strings.Contains(got, strings.Join(strings.Fields(line), " ")) {
			t.Errorf("%s says %s; the page says %s", command, out.String(), line)
		}
	}

	f.keep("job:1")
	for text, times := range map[string]int{`"in-cabinet-before"`: 1, `"in-cabinet"`: 1, `"free_air_stage": "as-received"`: 2, `"volume": "60 L"`: 2, `"finding": "leak"`: 3} {
		if n := f.in(text); n != times {
			t.Errorf("%s stands %d times in the book, wanted %d", text, n, times)
		}
	}
	// A new surround afterwards: what the box was held against stays.
	step(f.job.Repaired())
	f.sweep(benchjob.First)
	f.keep("job:1, which had sweeps of it before; 1 sweep added")
	if n := f.in(`"free_air_stage": "as-received"`); n != 2 {
		t.Errorf("%d boxes are held against the driver as it was then", n)
	}
	f.keep("job:1, which has all of these sweeps already; no sweep was added")
	if _, err := os.Stat(filepath.Join(f.path, "cabinet-after-1.wav")); err != nil {
		t.Error(err)
	}
}

// What is typed of a box is refused beside its field.
func TestBenchBoxFields(t *testing.T) {
	w := virtualShop(t)
	for field, b := range map[string]benchjob.Box{"volume": {Volume: "60 Hz"}, "tuning": {Kind: "closed", Tuning: "34 Hz"}} {
		var of *benchpage.FieldError
		if err := w.Box(b); !errors.As(err, &of) || of.Field != field {
			t.Errorf("%+v: %v", b, err)
		}
	}
	if err := w.Box(benchjob.Box{Volume: "60 L", Kind: "vented"}); err != nil {
		t.Error(err)
	}
}

// Stages go into the book in the order in which they were measured: a box before the repair is held against the driver before it.
func TestPageStagesInOrder(t *testing.T) {
	j := benchjob.Job{Sweeps: []benchjob.Sweep{{Phase: benchjob.Before}, {Phase: benchjob.BoxBefore}, {Phase: benchjob.After}, {Phase: benchjob.BoxAfter}, {Phase: benchjob.BoxBefore}}}
	var stages []string
	for _, s := range inOrder(j) {
		stages = append(stages, s.stage)
	}
	if got := strings.Join(stages, " "); got != "as-received in-cabinet-before new-surround in-cabinet" {
		t.Error(got)
	}
}

// A sheet that has limits for the box only is one of this driver: the driver in free air is measured, and has no verdict.
func TestBenchSheetForTheBoxOnly(t *testing.T) {
	f := newPageFolder(t)
	f.job.Sheet = filepath.Join(f.path, "box.toml")
	if err := os.WriteFile(f.job.Sheet, []byte("[limits]\nFb = { nominal = \"34 Hz\", tolerance = \"20 %\" }\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	answer := func(name string) {
		t.Helper()
		r, command, err := f.w.Answer(f.path, f.job)
		if err != nil || r.Judged || !strings.HasPrefix(command, "conewright "+name+" ") || strings.Contains(command, "--spec") {
			t.Errorf("%+v by %s, %v", r, command, err)
		}
	}
	f.sweep(benchjob.First)
	answer("fit")
	f.keep("job:1")
	f.job, _ = f.job.Repaired()
	f.sweep(benchjob.First)
	answer("compare")
	f.keep("job:1, which had sweeps of it before; 1 sweep added")
	kept, err := f.w.Book(f.path)
	if err != nil {
		t.Fatal(err)
	}
	var pdf bytes.Buffer
	if err := f.w.CustomerSheet(&pdf, kept); err != nil || !bytes.HasPrefix(pdf.Bytes(), []byte("%PDF-")) {
		t.Errorf("the customer's sheet: %v", err)
	}

	if f.job, err = f.job.WithBox(benchjob.Box{Volume: "60 L", Tuning: "34 Hz"}); err != nil {
		t.Fatal(err)
	}
	f.sweep(benchjob.First)
	r, command, err := f.w.Cabinet(f.path, f.job)
	if err != nil || !r.Judged || r.Headline == "" || !strings.Contains(command, " --spec ") {
		t.Fatalf("%q by %s, %v", r.Headline, command, err)
	}
	t.Chdir(f.path)
	var out, errs bytes.Buffer
	for _, one := range strings.Split(command, " && ") {
		run(words(one)[1:], nil, &out, &errs)
	}
	if !strings.Contains(out.String(), r.Headline) {
		t.Errorf("%s says %s %s; the page says %s", command, out.String(), errs.String(), r.Headline)
	}
}

// What is said of the box, of its driver or of its limits after it was kept holds in the book too.
func TestBenchRenewsTheBoxInTheBook(t *testing.T) {
	f := newPageFolder(t)
	step := func(j benchjob.Job, err error) {
		t.Helper()
		if err != nil {
			t.Fatal(err)
		}
		f.job = j
	}
	f.job.Sheet = ""
	f.sweep(benchjob.First)
	step(f.job.WithBox(benchjob.Box{}))
	f.sweep(benchjob.First)
	f.keep("job:1")
	const again = "job:1, which has all of these sweeps already; no sweep was added"
	f.keep(again)

	f.job.Box.Volume, f.job.Box.Tuning = "60 L", "34 Hz"
	f.write()
	f.keep(again + "; in cabinet before is computed anew")
	f.keep(again)
	if n := f.in(`"volume": "60 L"`); n != 1 {
		t.Errorf("the volume stands %d times in the book", n)
	}

	f.job.Sheet = filepath.Join(f.path, "box.toml")
	if err := os.WriteFile(f.job.Sheet, []byte("[limits]\nFb = { max = \"20 Hz\" }\n"), 0o666); err != nil {
		t.Fatal(err)
	}
	f.write()
	f.keep(again + "; in cabinet before is out of spec by its new sheet")

	if n := f.in(`"Vab": {`); n != 0 {
		t.Fatalf("the book knows Vab without a mass, %d times", n)
	}
	f.job.Phase = benchjob.Before
	step(f.job.WithMass("20.0 g"))
	f.sweep(benchjob.First)
	f.keep("job:1, which had sweeps of it before; 1 sweep added; in cabinet before is computed anew")
	if n := f.in(`"Vab": {`); n != 1 {
		t.Errorf("Vab stands %d times in the book", n)
	}
	f.keep(again)
}
