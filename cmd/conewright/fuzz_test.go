package main

import (
	"bytes"
	"encoding/json"
	"fmt"
	"hash/crc32"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"conewright/cmd/internal/saved"
)

// notNumbers are what no result may show: numbers that are none, and numbers with more digits
// than any measurement has.
var notNumbers = regexp.MustCompile(`\bNaN\b|[+-]Inf\b|[0-9]{17,}|panic|internal error|%!`)

// fuzzBench is a folder for one command with files that are read.
type fuzzBench struct {
	t   *testing.T
	dir string
}

// madeOnce are the files that every fuzz target starts from.
func madeOnce(f *testing.F) map[string][]byte {
	f.Helper()
	dir := f.TempDir()
	files := map[string][]byte{}
	for i, name := range []string{"one", "two"} {
		r, err := parseRecipe([]string{fmt.Sprintf("seed=%d", i+1), "points=60"})
		if err != nil {
			f.Fatal(err)
		}
		table, err := r.table()
		if err != nil {
			f.Fatal(err)
		}
		path := filepath.Join(dir, name)
		if err := os.WriteFile(path+".csv", table, 0o666); err != nil {
			f.Fatal(err)
		}
		var out, errs bytes.Buffer
		if code := run([]string{"fit", path + ".csv", "--json", "-o", path + ".json"}, nil, &out, &errs); code != 0 {
			f.Fatalf("%d: %s", code, errs.String())
		}
		if files[name+".json"], err = os.ReadFile(path + ".json"); err != nil {
			f.Fatal(err)
		}
	}
	files["s.toml"] = []byte("name = \"Larch\"\n[limits]\nFs = { nominal = \"31 Hz\", tolerance = \"10 %\" }\nQts = { min = 0.3, max = 0.5 }\n[pair]\nFs = \"5 %\"\n")
	files["lot.csv"] = []byte("unit,file,mass,box,dc\nleft,one.json,,,\nright,two.json,,,\n")
	return files
}

// newFuzzBench fills a folder.
func newFuzzBench(t *testing.T, files map[string][]byte, name string, data []byte) fuzzBench {
	b := fuzzBench{t, t.TempDir()}
	for n, content := range files {
		if err := os.WriteFile(filepath.Join(b.dir, n), content, 0o666); err != nil {
			t.Fatal(err)
		}
	}
	if err := os.WriteFile(filepath.Join(b.dir, name), data, 0o666); err != nil {
		t.Fatal(err)
	}
	return b
}

// run runs a command in the folder: no panic, an exit code of the table with words where it
// is an error, no number that is none, no file touched but those that are named as results.
func (b fuzzBench) run(input []byte, results []string, args ...string) int {
	b.t.Helper()
	before := b.snapshot(results)
	for i, a := range args {
		if i > 0 && (strings.HasSuffix(a, ".json") || strings.HasSuffix(a, ".toml") || strings.HasSuffix(a, ".csv")) {
			args[i] = filepath.Join(b.dir, a)
		}
	}
	var out, errs bytes.Buffer
	code := run(args, nil, &out, &errs)
	if code < 0 || code > 4 || (code == 1 || code == 2) != strings.HasPrefix(lastComplaint(errs.String()), "conewright: ") {
		b.t.Fatalf("%q: exit code %d with %q", args, code, errs.String())
	}
	// What the input holds by itself may be shown again, in a name.
	shown := strings.ReplaceAll(out.String()+errs.String(), b.dir, "")
	if bad := notNumbers.FindString(shown); bad != "" && !bytes.Contains(input, []byte(bad)) {
		b.t.Fatalf("%q shows %q:\n%s", args, bad, shown)
	}
	if after := b.snapshot(results); !slices.Equal(before, after) {
		b.t.Fatalf("%q touched files: %q, before %q", args, after, before)
	}
	return code
}

// lastComplaint is the last line of the errors that is no hint.
func lastComplaint(errs string) string {
	lines := strings.Split(strings.TrimSpace(errs), "\n")
	if n := len(lines); n > 1 && strings.HasPrefix(lines[n-1], "hint: ") {
		return lines[n-2]
	}
	return lines[len(lines)-1]
}

// snapshot lists the files of the folder with their content, but for results.
func (b fuzzBench) snapshot(results []string) []string {
	entries, err := os.ReadDir(b.dir)
	if err != nil {
		b.t.Fatal(err)
	}
	var all []string
	for _, e := range entries {
		if slices.Contains(results, e.Name()) {
			continue
		}
		data, err := os.ReadFile(filepath.Join(b.dir, e.Name()))
		if err != nil {
			b.t.Fatal(err)
		}
		all = append(all, e.Name()+" "+hashOf(data))
	}
	return all
}

// resealed gives a saved fit the checksum of the numbers that it has now, so that they are
// looked at.
func resealed(data []byte) []byte {
	var whole map[string]json.RawMessage
	if json.Unmarshal(data, &whole) != nil || whole["joint"] == nil || whole["parameters"] == nil {
		return data
	}
	sum, err := saved.Checksum(whole["parameters"], whole["joint"])
	if err != nil {
		return data
	}
	whole["checksum"], _ = json.Marshal(sum)
	if out, err := json.Marshal(whole); err == nil {
		return out
	}
	return data
}

func FuzzSavedFitCommands(f *testing.F) {
	files := madeOnce(f)
	f.Add(files["one.json"])
	f.Fuzz(func(t *testing.T, data []byte) {
		b := newFuzzBench(t, files, "a.json", resealed(data))
		if b.run(data, nil, "fit", "a.json", "--all") != 0 {
			return
		}
		b.run(data, nil, "check", "a.json", "--spec", "s.toml")
		b.run(data, nil, "compare", "--before", "a.json", "--after", "two.json")
		b.run(data, nil, "pair", "a.json", "two.json")
		b.run(data, nil, "ring", "a.json", "--target", "20Hz")
		b.run(data, []string{"again.json"}, "fit", "a.json", "--json", "-o", "again.json")
		if b.run(data, nil, "fit", "again.json") != 0 {
			var errs bytes.Buffer
			run([]string{"fit", filepath.Join(b.dir, "again.json")}, nil, &bytes.Buffer{}, &errs)
			t.Fatalf("what was written cannot be read again: %s", errs.String())
		}
	})
}

func FuzzSheetCommand(f *testing.F) {
	files := madeOnce(f)
	f.Add(files["s.toml"])
	f.Add([]byte("[limits]\nFs = { min = \"30 Hz\" }\nCms = { nominal = \"0.6 mm/N\", tolerance = \"20 %\" }\n[decision]\nconfidence = 0.9\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		b := newFuzzBench(t, files, "x.toml", data)
		b.run(data, nil, "check", "one.json", "--spec", "x.toml")
		b.run(data, nil, "pair", "one.json", "two.json", "--spec", "x.toml")
	})
}

func FuzzManifestCommand(f *testing.F) {
	files := madeOnce(f)
	f.Add(files["lot.csv"])
	f.Add([]byte("file;unit;mass\none.json;a;\ntwo.json;b;20.0g\n"))
	f.Fuzz(func(t *testing.T, data []byte) {
		b := newFuzzBench(t, files, "m.csv", data)
		b.run(data, nil, "batch", "m.csv", "--spec", "s.toml", "--jobs", "1")
	})
}

// unfinished is the journal of a run that did not come to its end, without its checksums.
func unfinished(f *testing.F, files map[string][]byte) []byte {
	dir := f.TempDir()
	for n, content := range files {
		if err := os.WriteFile(filepath.Join(dir, n), content, 0o666); err != nil {
			f.Fatal(err)
		}
	}
	b := newBatch(f, filepath.Join(dir, "lot.csv"), "--csv", "-o", filepath.Join(dir, "r.csv"))
	journal, err := b.openJournal()
	if err != nil {
		f.Fatal(err)
	}
	if err := journal.Add(b.fit(b.units[0], nil)); err != nil {
		f.Fatal(err)
	}
	journal.Close()
	data, err := os.ReadFile(filepath.Join(dir, "r.csv.part"))
	if err != nil {
		f.Fatal(err)
	}
	return regexp.MustCompile(`(?m)^[0-9a-f]{8} `).ReplaceAll(data, nil)
}

func FuzzJournalCommand(f *testing.F) {
	files := madeOnce(f)
	f.Add(unfinished(f, files))
	f.Add([]byte(`{"schema":"conewright/batch-journal/2"}`))
	f.Fuzz(func(t *testing.T, data []byte) {
		// Each line gets the checksum that it needs to be looked at.
		var journal bytes.Buffer
		for line := range bytes.Lines(data) {
			line = bytes.TrimSuffix(line, []byte("\n"))
			fmt.Fprintf(&journal, "%08x %s\n", crc32.Checksum(line, crc32.MakeTable(crc32.Castagnoli)), line)
		}
		b := newFuzzBench(t, files, "r.csv.part", journal.Bytes())
		b.run(data, []string{"r.csv", "r.csv.part"}, "batch", "lot.csv", "--csv", "-o", "r.csv", "--resume", "--jobs", "1")
	})
}
