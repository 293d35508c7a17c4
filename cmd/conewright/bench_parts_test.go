package main

import (
	"bytes"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"conewright/cmd/internal/benchjob"
	"conewright/cmd/internal/saved"
	"conewright/cmd/internal/wording"
)

// Parts on the page: what they are, their verdicts and their pairs, as the command says it; the book keeps them once, and a nominal
// value that was typed anew is kept as well.
func TestBenchParts(t *testing.T) {
	f := newPageFolder(t)
	j, err := f.job.ToParts()
	if err != nil {
		t.Fatal(err)
	}
	f.job = j
	record := func(p benchjob.Part) {
		t.Helper()
		next, err := f.job.WithPart(p)
		if err == nil {
			err = f.w.Part(next.Part)
		}
		if err != nil {
			t.Fatal(err)
		}
		f.job = next
		f.sweep(benchjob.First)
	}
	record(benchjob.Part{Role: benchjob.OpenEnds})
	record(benchjob.Part{Role: benchjob.JoinedEnds})
	record(benchjob.Part{Role: benchjob.Known, Ohm: "100.03 ohm"})
	for _, name := range []string{"C1 old", "C1 left", "C1 right"} {
		record(benchjob.Part{Role: benchjob.OnePart, Name: name, Nominal: "6.8 uF", Tolerance: "5 %"})
	}
	record(benchjob.Part{Role: benchjob.OnePart, Name: "L1"})
	found, err := f.w.Parts(f.path, f.job)
	if err != nil || len(found.Lines) != 4 {
		t.Fatalf("%+v, %v", found, err)
	}
	for i, want := range [][4]string{{"C1 old", "capacitor", "7.40", "out of spec"}, {"C1 left", "capacitor", "6.", "in spec"}, {"C1 right", "capacitor", "6.", "in spec"}, {"L1", "coil", "0.5", ""}} {
		l := found.Lines[i]
		if l.Name != want[0] || l.What != want[1] || !strings.HasPrefix(l.Value, want[2]) || l.Verdict != want[3] {
			t.Errorf("%+v, wanted %q", l, want)
		}
	}
	if len(found.Pairs) != 1 || !strings.HasPrefix(found.Pairs[0], "C1 left and C1 right are a pair: ") {
		t.Errorf("%q", found.Pairs)
	}

	r, command, err := f.w.PartsAnswer(f.path, f.job)
	if err != nil || r.Headline != "NOT IN SPEC: C1 old" {
		t.Fatalf("%+v, %v", r, err)
	}
	t.Chdir(f.path)
	for i, one := range strings.Split(command, " && ") {
		var out, errs bytes.Buffer
		run(words(one)[1:], nil, &out, &errs)
		if verdict := []string{"OUT OF SPEC", "IN SPEC", "IN SPEC", ""}[i]; errs.Len() > 0 || !strings.Contains(out.String(), "\n"+verdict) {
			t.Errorf("%s: %s %s", one, out.String(), errs.String())
		}
	}

	f.keep("job:1")
	f.keep("job:1, which has all of these sweeps already; no sweep was added")
	if n := f.in(`"load_value": "100.03 ohm"`); n != 4 {
		t.Errorf("%d parts in the book", n)
	}
	if n := f.in(`"name": "C1 old.wav"`); n != 1 {
		t.Errorf("the old part stands %d times in the book", n)
	}
	for i := range f.job.Sweeps {
		if f.job.Sweeps[i].Part.Name == "L1" {
			f.job.Sweeps[i].Part.Nominal = "0.56 mH"
		}
	}
	f.write()
	f.keep("job:1, which was there before; 0 sweeps and 1 part added")
	if n := f.in(`"verdict": "in-spec"`); n < 3 {
		t.Errorf("%d verdicts are in spec", n)
	}

	// A known thing that is another one: the page says so.
	f.job, err = f.job.WithPart(benchjob.Part{Role: benchjob.Known, Ohm: "10.0 ohm"})
	if err != nil {
		t.Fatal(err)
	}
	for bad, p := range map[string]benchjob.Part{"nominal": {Role: benchjob.OnePart, Name: "C2", Nominal: "8"}, "tolerance": {Role: benchjob.OnePart, Name: "C2", Tolerance: "8 uF"}, "ohm": {Role: benchjob.Known, Ohm: "8 uF"}} {
		if err := f.w.Part(p); err == nil {
			t.Errorf("%s: %+v is taken", bad, p)
		}
	}
}

// A part that was recorded with another bench on the page than the stage in the book has is not kept beside that one's record; one that
// was recorded with the same bench is measured with it as the book has it.
func TestBenchPartsOfAnotherBench(t *testing.T) {
	f := newPageFolder(t)
	j, err := f.job.ToParts()
	if err != nil {
		t.Fatal(err)
	}
	f.job = j
	record := func(name string) {
		t.Helper()
		if f.job, err = f.job.WithPart(benchjob.Part{Role: benchjob.OnePart, Name: name, Nominal: "6.8 uF", Tolerance: "5 %"}); err != nil {
			t.Fatal(err)
		}
		f.sweep(benchjob.First)
	}
	record("C1")
	f.keep("job:1")
	resistor := f.job.Typed["resistor"]
	f.job.Typed["resistor"] = "20 ohm"
	record("C2")
	if kept, err := f.w.Book(f.path); err == nil || !strings.Contains(err.Error(), "resistor was typed otherwise for its stage parts") {
		t.Errorf("it says %q, %v", kept.Says, err)
	}
	if n := f.in(`"name": "C2.wav"`); n != 0 {
		t.Error("the part is in the book")
	}
	f.job.Typed["resistor"] = resistor
	f.write()
	f.keep("job:1, which was there before; 0 sweeps and 1 part added")
	said, _ := conewright(t, 0, "job", "recompute", "job:1", "--book", filepath.Join(f.w.folder, inventedBook))
	if said != "1 stage computed anew: nothing came out differently.\n" {
		t.Errorf("recompute says %s", said)
	}
}

// An import that fails half way says how far it came, and goes on from there.
func TestBenchBookGoesOn(t *testing.T) {
	f := newPageFolder(t)
	f.sweep(benchjob.First)
	f.keep("job:1")
	var err error
	if f.job, err = f.job.Repaired(); err != nil {
		t.Fatal(err)
	}
	f.sweep(benchjob.First)
	if f.job, err = f.job.ToParts(); err == nil {
		f.job, err = f.job.WithPart(benchjob.Part{Role: benchjob.OnePart, Name: "C1"})
	}
	if err != nil {
		t.Fatal(err)
	}
	f.sweep(benchjob.First)
	part := filepath.Join(f.path, f.job.Sweeps[len(f.job.Sweeps)-1].File)
	good, err := os.ReadFile(part)
	if err == nil {
		err = os.WriteFile(part, []byte("walnut"), 0o666)
	}
	if err != nil {
		t.Fatal(err)
	}
	_, err = f.w.Book(f.path)
	if err == nil {
		t.Fatal("a part that is no recording is kept")
	}
	if message, _ := wording.Error(err); !strings.HasPrefix(message, "1 sweep added to job:1, and doing this once more goes on from there; ") || !strings.Contains(message, filepath.Base(part)) {
		t.Errorf("it says %s", message)
	}
	if err := os.WriteFile(part, good, 0o666); err != nil {
		t.Fatal(err)
	}
	f.keep("job:1, which was there before; 0 sweeps and 1 part added")
}

// The answer about parts names the recordings of those that were measured, and a part that cannot be measured stands with no other.
func TestBenchPartsInputs(t *testing.T) {
	f := newPageFolder(t)
	var err error
	if f.job, err = f.job.ToParts(); err != nil {
		t.Fatal(err)
	}
	for _, p := range []benchjob.Part{{Role: benchjob.OpenEnds}, {Role: benchjob.OnePart, Name: "C1"}, {Role: benchjob.OnePart, Name: "C2"}} {
		if f.job, err = f.job.WithPart(p); err != nil {
			t.Fatal(err)
		}
		f.sweep(benchjob.First)
	}
	if err := os.WriteFile(filepath.Join(f.path, f.job.Sweeps[1].File), []byte("walnut"), 0o666); err != nil {
		t.Fatal(err)
	}
	names := func(list []saved.Input) (names []string) {
		for _, in := range list {
			names = append(names, filepath.Base(in.Path))
		}
		return names
	}
	want := []string{f.job.Sweeps[0].File, f.job.Sweeps[2].File}
	r, _, err := f.w.PartsAnswer(f.path, f.job)
	if err != nil {
		t.Fatal(err)
	}
	if got := names(r.Inputs); !slices.Equal(got, want) {
		t.Errorf("the answer is of %q, wanted %q", got, want)
	}
	m, err := f.w.measureParts(f.path, f.job, func(benchjob.Sweep, partForBook, error) {})
	if err != nil || len(m.parts) != 1 {
		t.Fatalf("%d parts, %v", len(m.parts), err)
	}
	var kept struct{ Inputs []saved.Input }
	if err := json.Unmarshal(m.parts[0].part.Report, &kept); err != nil || !slices.Equal(names(kept.Inputs), want) {
		t.Errorf("the book keeps %q, %v, wanted %q", names(kept.Inputs), err, want)
	}
}
