package book

import (
	"bytes"
	"context"
	"crypto/sha256"
	"database/sql"
	"encoding/hex"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"reflect"
	"strings"
	"sync"
	"testing"
	"time"

	"conewright/cmd/internal/saved"
	"conewright/ts/measured"
	"conewright/ts/notice"
	"conewright/ts/param"
)

var day = time.Date(2026, 3, 4, 10, 0, 0, 0, time.UTC)

func open(t *testing.T, folder string) *Book {
	t.Helper()
	b, err := Open(context.Background(), folder)
	if err != nil {
		t.Fatal(err)
	}
	t.Cleanup(func() { b.Close() })
	return b
}

func hashOf(content string) string {
	sum := sha256.Sum256([]byte(content))
	return hex.EncodeToString(sum[:])
}

// file writes a file and returns it as something to be kept.
func file(t testing.TB, name, content string) File {
	t.Helper()
	path := filepath.Join(t.TempDir(), name)
	if err := os.WriteFile(path, []byte(content), 0o600); err != nil {
		t.Fatal(err)
	}
	return File{path, hashOf(content)}
}

// sweepOf is a new sweep with this content.
func sweepOf(t testing.TB, content string, load measured.Load) NewSweep {
	f := file(t, "sweep.csv", content)
	return NewSweep{f, Sweep{SHA256: f.SHA256, Name: "sweep.csv", Load: load, Repeat: "again", Operator: "Ilse", Added: day, Version: "test"}}
}

func resultOf(fs float64) *Result {
	return &Result{Made: day, Version: "test", Verdict: "in-spec", Values: map[param.ID]Value{param.Fs: {fs, 0.1}, param.Re: {5.6, 0.01}}, Fit: []byte(`{"schema":"conewright/fit/1"}`)}
}

// filled is a book with one job: two drivers, the left one at two stages.
func filled(t *testing.T, folder string) (*Book, int) {
	t.Helper()
	ctx, b := context.Background(), open(t, folder)
	n, err := b.NewJob(ctx, Job{Title: "Stage woofers", Customer: "Brindle Hall", Contact: "caretaker 50%", Opened: day})
	if err != nil {
		t.Fatal(err)
	}
	bench := saved.Settings{{Name: "resistor", Value: "10.02 ohm"}}
	for i, a := range []Addition{
		{Ref: Ref{n, "left", AsReceived}, Bench: bench, Sweeps: []NewSweep{sweepOf(t, "one", measured.Load{}), sweepOf(t, "two", measured.Load{Kind: measured.AddedMass, Value: 0.02, Std: 1e-5})}},
		{Ref: Ref{n, "left", RunIn}, Bench: bench, Calibration: file(t, "cal.json", "{}"), Sweeps: []NewSweep{sweepOf(t, "three", measured.Load{})}},
		{Ref: Ref{n, "right", AsReceived}, Sweeps: []NewSweep{sweepOf(t, "four", measured.Load{})}},
	} {
		a.Result = resultOf(30 + float64(i))
		if err := b.Add(ctx, a); err != nil {
			t.Fatal(err)
		}
	}
	if _, err := b.Describe(ctx, Ref{n, "left", ""}, "Larch 25", "SN-7", file(t, "larch.toml", "[limits]"), inSpec); err != nil {
		t.Fatal(err)
	}
	return b, n
}

// inSpec is a judgement.
func inSpec(Ref, json.RawMessage) (string, error) { return "in-spec", nil }

// refused fails unless err is a notice with this code.
func refused(t *testing.T, err error, code string) {
	t.Helper()
	var n *notice.Notice
	if !errors.As(err, &n) || n.Code != code {
		t.Errorf("got %v, wanted a refusal %s", err, code)
	}
}

func TestWhatIsAddedIsThereAfterOpeningAgain(t *testing.T) {
	folder := t.TempDir()
	b, n := filled(t, folder)
	want, err := b.Job(context.Background(), n)
	if err != nil {
		t.Fatal(err)
	}
	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	got, err := open(t, folder).Job(context.Background(), n)
	if err != nil || !reflect.DeepEqual(got, want) {
		t.Fatalf("%v\n%+v\n%+v", err, got, want)
	}
	left := got.Drivers[0]
	if left.Type != "Larch 25" || left.Serial != "SN-7" || left.SheetName != "larch.toml" || len(left.Stages) != 2 || len(left.Stages[0].Sweeps) != 2 {
		t.Errorf("%+v", left)
	}
	if load := left.Stages[0].Sweeps[1].Load; load != (measured.Load{Kind: measured.AddedMass, Value: 0.02, Std: 1e-5}) {
		t.Errorf("load %+v", load)
	}
	if v := left.Stages[1].Result.Values[param.Fs]; v != (Value{31, 0.1}) {
		t.Errorf("Fs %+v", v)
	}
	if s, _ := left.Before(); s.Name != AsReceived {
		t.Errorf("before is %s", s.Name)
	}
	if s, _ := left.After(); s.Name != RunIn {
		t.Errorf("after is %s", s.Name)
	}
	content, err := os.ReadFile(b.RawPath(left.Stages[0].Sweeps[0].SHA256))
	if err != nil || string(content) != "one" {
		t.Errorf("raw file: %q, %v", content, err)
	}
}

func TestAdditionsThatAreRefused(t *testing.T) {
	ctx := context.Background()
	b, n := filled(t, t.TempDir())
	bench := saved.Settings{{Name: "resistor", Value: "10.02 ohm"}}
	before, _ := b.Job(ctx, n)
	for code, a := range map[string]Addition{
		"book-missing":     {Ref: Ref{n + 1, "left", AsReceived}},
		"book-changed":     {Ref: Ref{n, "left", AsReceived}, Bench: bench, Known: 1},
		"book-other-bench": {Ref: Ref{n, "left", AsReceived}, Known: 2},
		"book-same-sweep":  {Ref: Ref{n, "left", NewSurround}, Sweeps: []NewSweep{sweepOf(t, "five", measured.Load{}), sweepOf(t, "one", measured.Load{})}},
	} {
		refused(t, b.Add(ctx, a), code)
	}
	if after, _ := b.Job(ctx, n); !reflect.DeepEqual(before, after) {
		t.Errorf("a refused addition left something: %+v", after)
	}
}

func TestFind(t *testing.T) {
	ctx := context.Background()
	b, n := filled(t, t.TempDir())
	for query, found := range map[string]bool{"": true, "brindle": true, "sn-7 hall": true, "SN-8": false, "50%": true, "5_%": false, "care%50": false, "larch": true} {
		list, err := b.Jobs(ctx, query, 10)
		if err != nil || (len(list) == 1) != found {
			t.Errorf("%q: %d jobs, %v", query, len(list), err)
		}
		if found && (list[0].Number != n || list[0].Drivers != 2 || list[0].Last != AsReceived) {
			t.Errorf("%q: %+v", query, list[0])
		}
	}
	var refs []string
	err := b.EachUnit(ctx, Which{Job: n, Last: true}, func(u Unit) error { refs = append(refs, u.Ref.String()); return nil })
	if want := fmt.Sprintf("[job:%d/left/run-in job:%d/right/as-received]", n, n); err != nil || fmt.Sprint(refs) != want {
		t.Errorf("%v, %v", refs, err)
	}
}

func TestArchive(t *testing.T) {
	ctx := context.Background()
	b, n := filled(t, t.TempDir())
	var z bytes.Buffer
	if err := b.Export(ctx, n, "test", &z); err != nil {
		t.Fatal(err)
	}
	other := open(t, t.TempDir())
	if _, err := other.NewJob(ctx, Job{Title: "takes number 1", Opened: day}); err != nil {
		t.Fatal(err)
	}
	got, err := other.Import(ctx, bytes.NewReader(z.Bytes()), int64(z.Len()), "job.zip")
	if err != nil {
		t.Fatal(err)
	}
	want, _ := b.Job(ctx, n)
	have, err := other.Job(ctx, got)
	want.Number = got
	if err != nil || !reflect.DeepEqual(have, want) {
		t.Fatalf("%v\n%+v\n%+v", err, have, want)
	}
	for _, h := range hashesOf(have) {
		if _, err := os.Stat(other.RawPath(h)); err != nil {
			t.Error(err)
		}
	}
	// A damaged archive, and what is no archive.
	damaged := bytes.Replace(z.Bytes(), []byte("PK\x03\x04"), []byte("PK\x03\x05"), 1)
	_, err = open(t, t.TempDir()).Import(ctx, bytes.NewReader(damaged), int64(len(damaged)), "job.zip")
	refused(t, err, "book-bad-archive")
	_, err = other.Import(ctx, strings.NewReader("no archive"), 10, "job.zip")
	refused(t, err, "book-bad-archive")
}

// Nothing of a deleted job is left in any file of the book, and the files of others stay.
func TestDeletionIsComplete(t *testing.T) {
	ctx := context.Background()
	folder := t.TempDir()
	b, n := filled(t, folder)
	other, err := b.NewJob(ctx, Job{Title: "Another", Customer: "Moorland Club", Opened: day})
	if err != nil {
		t.Fatal(err)
	}
	shared := sweepOf(t, "one", measured.Load{})
	if err := b.Add(ctx, Addition{Ref: Ref{other, "left", AsReceived}, Sweeps: []NewSweep{shared}}); err != nil {
		t.Fatal(err)
	}
	if err := b.Delete(ctx, n); err != nil {
		t.Fatal(err)
	}
	raw := 0
	err = filepath.WalkDir(folder, func(path string, d fs.DirEntry, err error) error {
		if err != nil || d.IsDir() {
			return err
		}
		if strings.Contains(path, rawFolder+string(filepath.Separator)) {
			raw++
		}
		content, err := os.ReadFile(path)
		for _, word := range []string{"Brindle", "SN-7", "caretaker"} {
			if bytes.Contains(content, []byte(word)) {
				t.Errorf("%s still has %q", path, word)
			}
		}
		return err
	})
	if err != nil || raw != 1 {
		t.Errorf("%d raw files are left, %v", raw, err)
	}
	if content, err := os.ReadFile(b.RawPath(shared.File.SHA256)); err != nil || string(content) != "one" {
		t.Errorf("the file of another job: %q, %v", content, err)
	}
	_, err = b.Job(ctx, n)
	refused(t, err, "book-missing")
	if again, err := b.NewJob(ctx, Job{Opened: day}); err != nil || again <= other {
		t.Errorf("the number %d is given again, %v", again, err)
	}
}

func TestBooksThatAreRefused(t *testing.T) {
	ctx := context.Background()
	exec := func(statement string) func(path string) error {
		return func(path string) error {
			db, err := sql.Open("sqlite", source(path))
			if err != nil {
				return err
			}
			defer db.Close()
			_, err = db.Exec(statement)
			return err
		}
	}
	for code, change := range map[string]func(path string) error{
		"book-newer": exec(`INSERT INTO goose_db_version (version_id, is_applied) VALUES (99, 1)`),
		"book-other": exec(`PRAGMA application_id = 0`),
		"book-damaged": func(path string) error {
			content, err := os.ReadFile(path)
			if err != nil {
				return err
			}
			for i := range content[:4096] {
				content[i] ^= 0x5a
			}
			return os.WriteFile(path, content, 0o600)
		},
	} {
		folder := t.TempDir()
		b, _ := filled(t, folder)
		if err := b.Close(); err != nil {
			t.Fatal(err)
		}
		path := filepath.Join(folder, fileName)
		if err := change(path); err != nil {
			t.Fatal(err)
		}
		before, _ := os.ReadFile(path)
		_, err := Open(ctx, folder)
		refused(t, err, code)
		if after, _ := os.ReadFile(path); !bytes.Equal(before, after) {
			t.Errorf("%s: the file was changed", code)
		}
	}
	_, err := OpenExisting(ctx, filepath.Join(t.TempDir(), "none"))
	refused(t, err, "book-none")
}

// Damage behind the head of the file is found by the check, and no backup is made of it.
func TestBackup(t *testing.T) {
	ctx := context.Background()
	folder := t.TempDir()
	b, n := filled(t, folder)
	to := filepath.Join(t.TempDir(), "copy")
	if err := b.Backup(ctx, to); err != nil {
		t.Fatal(err)
	}
	want, _ := b.Job(ctx, n)
	c := open(t, to)
	if got, err := c.Job(ctx, n); err != nil || !reflect.DeepEqual(got, want) {
		t.Errorf("%v\n%+v\n%+v", err, got, want)
	}
	for _, h := range hashesOf(want) {
		if _, err := os.Stat(c.RawPath(h)); err != nil {
			t.Error(err)
		}
	}
	refused(t, b.Backup(ctx, to), "book-backup-there")

	if err := b.Close(); err != nil {
		t.Fatal(err)
	}
	path := filepath.Join(folder, fileName)
	content, err := os.ReadFile(path)
	if err != nil {
		t.Fatal(err)
	}
	for i := range 100 { // the head of the last page
		content[len(content)-4096+i] = 0xff
	}
	if err := os.WriteFile(path, content, 0o600); err != nil {
		t.Fatal(err)
	}
	refused(t, open(t, folder).Backup(ctx, filepath.Join(t.TempDir(), "another")), "book-damaged")
}

// Several programs that begin one book at the same moment, and then write.
func TestSeveralAtOnce(t *testing.T) {
	folder := t.TempDir()
	var wait sync.WaitGroup
	for i := range 6 {
		wait.Go(func() {
			b, err := Open(context.Background(), folder)
			if err != nil {
				t.Errorf("%d: %v", i, err)
				return
			}
			defer b.Close()
			for range 10 {
				if _, err := b.NewJob(context.Background(), Job{Title: fmt.Sprint(i), Opened: day}); err != nil {
					t.Errorf("%d: %v", i, err)
				}
			}
		})
	}
	wait.Wait()
	list, err := open(t, folder).Jobs(context.Background(), "", 1000)
	if err != nil || len(list) != 60 {
		t.Errorf("%d jobs, %v", len(list), err)
	}
}

func TestRefs(t *testing.T) {
	for text, want := range map[string]Ref{"job:12": {12, "", ""}, "12/left": {12, "left", ""}, "job:3/SN-7/run-in": {3, "SN-7", "run-in"}} {
		if got, err := ParseRef(text); err != nil || got != want {
			t.Errorf("%s: %+v, %v", text, got, err)
		}
	}
	for text, code := range map[string]string{"job:": "book-bad-ref", "job:x/left": "book-bad-ref", "job:1/a/b/c": "book-bad-ref", "job:0": "book-bad-ref", "job:1/../x": "book-bad-name", "job:1/": "book-bad-name"} {
		_, err := ParseRef(text)
		refused(t, err, code)
	}
}
